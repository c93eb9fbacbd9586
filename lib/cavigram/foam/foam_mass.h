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
    double volume_mm3 = 0.0;       ///< Exact for the mended mesh.
    double volume_low_mm3 = 0.0;   ///< Likely range of the volume, from the mending of the file.
    double volume_high_mm3 = 0.0;  ///< As volume_low_mm3.
    DepthVolumeCurve skin_curve;   ///< Volume within a depth of the surface.
    double deepest_mm = 0.0;       ///< Depth of the deepest point.
};

/// What the foam is, and one statement of how much of it goes into the mold.
struct FoamRequest {
    Ranged free_rise_kg_m3;                   ///< Of this mix, in this room's air. Above 0.
    Ranged skin_density_kg_m3;                ///< Above 0.
    SkinProfile profile = SkinProfile::step;  ///< How the skin fades into the core.
    /// A skin that was measured. None: the skin is what the surplus over free rise makes.
    std::optional<Ranged> skin_thickness_mm;
    /// Wanted mean density of the finished part, or
    std::optional<double> molded_density_kg_m3;
    /// mean over free-rise density. Neither: only with a measured skin, over a core at free rise.
    std::optional<double> packing_factor;
};

/// Skin and core of one part. For a step the skin is what it looks like; for other profiles it is
/// the effective skin (skin.h).
struct FoamMass {
    double free_rise_kg_m3 = 0.0;         ///< As requested.
    double packing_factor = 0.0;          ///< Mean over free-rise density.
    double molded_density_kg_m3 = 0.0;    ///< Mean of the whole cavity.
    bool skin_measured = false;           ///< False: derived from the packing.
    double skin_thickness_mm = 0.0;       ///< Of a step; the decay length of other profiles.
    double skin_thickness_low_mm = 0.0;   ///< From the ranges of skin and free-rise density, or as
    double skin_thickness_high_mm = 0.0;  ///< measured.
    double skin_density_kg_m3 = 0.0;      ///< As requested.
    double core_density_kg_m3 = 0.0;      ///< Free rise, unless a measured skin leaves more.
    double skin_volume_mm3 = 0.0;         ///< Effective: at full skin density.
    double core_volume_mm3 = 0.0;         ///< The rest of what is filled.
    double unfilled_mm3 = 0.0;      ///< Above 0 if the foam, risen freely, is less than the cavity.
    double skin_mass_g = 0.0;       ///< In the skin.
    double core_mass_g = 0.0;       ///< In the core.
    double part_mass_g = 0.0;       ///< Skin and core added.
    double part_mass_low_g = 0.0;   ///< The same density over the volume's range.
    double part_mass_high_g = 0.0;  ///< As part_mass_low_g.
    std::vector<Finding> findings;  ///< short_shot, core_light, all_skin.
};

/// Splits a part's mass into skin and core, in one chain from packing to thickness.
///
/// With m the mass and V the cavity, packing = m / (free rise * V). No foam is lighter than it
/// rises freely, so the core has free-rise density and the surplus sits in the skin (foam_model.md
/// 1, checks.md S10):
///     S = (packing - 1) free_rise V / (skin density - free_rise),
/// and the thickness is the one whose effective volume is S. At a packing of 1 there is no skin;
/// below 1 the cavity is not filled: a stop `short_shot`, with the foam that there is at free rise.
///
/// A measured skin takes S from the curve: without a stated mass over a core at free rise; with
/// one, the core is what the skin leaves, (m - skin density S) / (V - S) (S8), which may be pressed
/// above free rise but is never below the low end of its range.
///
/// \throw InvalidInput if the part would be all skin and more, with the most that fits; if a
/// measured skin asks for a core lighter than free rise, with the skin that fits; if nothing or two
/// things state the mass; for a density that is not positive
[[nodiscard]] FoamMass foam_mass(const CavityAmounts& cavity, const FoamRequest& request);

/// The mass that skin and core come to when the profile is integrated over the curve again, from
/// the thickness: equal to the part's mass but for rounding, or the chain is broken.
///
/// \pre `mass` was made from `cavity` and `profile`, and fills it
[[nodiscard]] double integrated_mass_g(const CavityAmounts& cavity, const FoamMass& mass,
                                       SkinProfile profile);

}  // namespace cavigram
