// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

namespace cavigram {

/// How density falls from the surface to the core.
enum class SkinProfile {
    step,         ///< Skin density down to the skin thickness, core density below.
    exponential,  ///< core + (skin - core) exp(-depth / thickness): on a flat wall as heavy as a
                  ///< step of that thickness.
};

/// The word for a profile: `step`, `exponential`.
[[nodiscard]] const char* to_text(SkinProfile profile);

/// The part's volume within `depth_mm` of its surface, in mm3; grows from 0 to the whole volume.
using DepthVolumeCurve = std::function<double(double depth_mm)>;

/// Volume that, at full skin density, would weigh as much above the core as the whole profile does:
/// with it, for every profile,
///     mass = core density * volume + (skin density - core density) * effective skin volume.
///
/// Step: the curve at the thickness. Exponential: integral of exp(-s/L) dW(s), by parts
///     (1/L) * integral over [0, D] of exp(-s/L) W(s) ds + W(D) exp(-D/L),
/// D the depth of the deepest point, by 8-point Gauss-Legendre on panels of at most L/2. checks.md
/// section 2.
///
/// \pre thickness_mm >= 0, deepest_mm > 0. About 16 D/L curve evaluations, at most 640.
[[nodiscard]] double effective_skin_volume_mm3(const DepthVolumeCurve& curve, double deepest_mm,
                                               SkinProfile profile, double thickness_mm);

/// The thickness whose effective skin volume is `volume_mm3`, by bisection to 1e-12 of the deepest
/// point. More than any thickness gives: the deepest point for a step; for the exponential 1000
/// times that.
///
/// \pre 0 <= volume
[[nodiscard]] double thickness_for_skin_volume_mm(const DepthVolumeCurve& curve, double deepest_mm,
                                                  SkinProfile profile, double volume_mm3);

}  // namespace cavigram
