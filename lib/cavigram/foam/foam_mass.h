// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/foam/card.h"
#include "cavigram/foam/skin.h"

namespace cavigram {

/// The cavity as the foam sees it.
struct CavityAmounts {
    double volume_mm3 = 0.0;
    double volume_low_mm3 = 0.0;  ///< Likely range of the volume, from the mending of the file.
    double volume_high_mm3 = 0.0;
    DepthVolumeCurve skin_curve;    ///< Volume within a depth of the surface.
    double skin_error_share = 0.0;  ///< Likely relative error of that curve.
    double deepest_mm = 0.0;        ///< Depth of the deepest point.
};

/// What the part shall be.
struct FoamRequest {
    DensityBasis basis = DensityBasis::molded;
    /// Density on that basis. For `molded` it is a goal and has no range of its own.
    Ranged density_kg_m3;
    /// Mean density of the part over free-rise density. Only with `free_rise`; it then decides the
    /// skin's thickness, since skin and overpack are one and the same surplus.
    std::optional<double> overpack;
    Ranged skin_thickness_mm;
    Ranged skin_density_kg_m3;
    SkinProfile profile = SkinProfile::step;
    /// The skin is a typical value, not this shop's: when it does not fit the density asked for,
    /// its low end is tried before refusing.
    bool skin_is_typical = false;
};

/// Skin and core of one part. For a step the skin is what it looks like; for other profiles it is
/// the effective skin (skin.h).
struct FoamMass {
    DensityBasis basis = DensityBasis::molded;
    double molded_density_kg_m3 = 0.0;  ///< Mean of the whole part.
    double skin_thickness_mm = 0.0;
    double skin_density_kg_m3 = 0.0;
    double core_density_kg_m3 = 0.0;
    double skin_volume_mm3 = 0.0;
    double core_volume_mm3 = 0.0;
    double skin_mass_g = 0.0;
    double core_mass_g = 0.0;
    double part_mass_g = 0.0;  ///< Skin and core added.
    double part_mass_low_g = 0.0;
    double part_mass_high_g = 0.0;
    std::optional<double>
        packing_factor;  ///< Mean over free-rise density, where the latter is known.
    std::vector<Finding> findings;
};

/// Splits the part's mass into skin and core.
///
/// molded: mass = density * V; the core is what the skin leaves: core = (mass - skin density * S) /
/// (V - S) (checks.md 2, S8). core: mass = core * V + (skin - core) * S. free_rise: the core is
/// taken to rise freely, so mean/free-rise = 1 + (skin/free-rise - 1) S/V (S10): a skin thickness
/// gives the overpack, or a stated overpack gives the thickness, never both. The range comes from
/// the volume's range, and for core and free_rise also from the density's and the skin's; its ends
/// are the extreme corners. \throw InvalidInput if the skin alone would weigh more than the part
/// (S8, S9), with the thickest skin that fits; if overpack is given
///        with another basis, is below 1, or asks for more skin than there is part.
[[nodiscard]] FoamMass foam_mass(const CavityAmounts& cavity, const FoamRequest& request);

}  // namespace cavigram
