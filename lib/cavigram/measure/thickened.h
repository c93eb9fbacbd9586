// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

#include "cavigram/measure/thin_regions.h"

namespace cavigram {

/// What is still thin after every wall has gained some thickness.
struct Thickened {
    double gain_mm = 0.0;               ///< What each wall gains in all: half of it on each side.
    std::size_t places_leaving = 0;     ///< Whose figure to show reaches the limit.
    std::size_t places_left = 0;        ///< That stay on the list.
    double area_leaving_mm2 = 0.0;      ///< Of the listed places, both sides counted,
    double area_left_mm2 = 0.0;         ///< and what of them is still thinner than the limit.
    double volume_leaving_mm3 = 0.0;    ///< What lies between, before it is thickened.
    double all_skin_leaving_mm2 = 0.0;  ///< Area of places that get a core,
    double all_skin_left_mm2 = 0.0;     ///< and of those that get none.
    double volume_added_mm3 = 0.0;      ///< If only the listed places are thickened.
};

/// What leaves the list of thin places when every wall gets thicker by `gain_mm`.
///
/// Taken from the thickness as measured, nothing is rebuilt: a wall of thickness t becomes one of t
/// + gain, which is exact for walls that are thickened along their normals and an estimate where
/// they bend sharply. Moving both surfaces of a wall outward by g gains 2 g.
///
/// O(samples).
///
/// \pre `regions` was made from `map`.
///
/// \throw InvalidInput unless gain is more than 0
[[nodiscard]] Thickened thickened(const ThicknessMap& map, const ThinRegions& regions,
                                  double gain_mm);

}  // namespace cavigram
