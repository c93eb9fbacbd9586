// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

#include "cavigram/foam/skin.h"

namespace cavigram {

/// How the surplus of the skin over the core fades: 1 at the surface, and its slope. Density at a
/// depth is core + (skin - core) * share(depth).
struct ProfileShape {
    std::function<double(double depth_mm)> share;
    std::function<double(double depth_mm)> slope_per_mm;  ///< Derivative of share.
};

/// exp(-depth / decay). \throw InvalidInput unless decay > 0
[[nodiscard]] ProfileShape exponential_shape(double decay_mm);

/// cosh(z / decay) / cosh(h / decay) with z = h - depth from the mid-plane of a wall of thickness
/// 2h: the exponential of both faces added. On a slab the mean share is (decay/h) tanh(h/decay).
/// checks.md S6. \throw InvalidInput unless both > 0
[[nodiscard]] ProfileShape cosh_shape(double half_thickness_mm, double decay_mm);

/// |z / h|^n with z as above. On a slab the mean share is 1 / (n + 1). checks.md S7. \throw
/// InvalidInput unless h > 0 and n >= 1
[[nodiscard]] ProfileShape power_shape(double half_thickness_mm, double exponent);

/// Volume that at full skin density would weigh as much above the core as the profile does, for any
/// shape over the depth-volume curve: the integral of share dW, by parts
///     share(D) W(D) - integral over [0, D] of slope(s) W(s) ds,
/// D the deepest point, by 8-point Gauss-Legendre on `panels` pieces that get narrower toward the
/// surface, where the profiles are steep. \pre deepest_mm > 0, panels >= 1. 8 panels evaluations.
[[nodiscard]] double effective_skin_volume_mm3(const DepthVolumeCurve& curve, double deepest_mm,
                                               const ProfileShape& shape, int panels = 200);

}  // namespace cavigram
