// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// The part with a color at each vertex, as files' bytes.
struct ColoredPart {
    std::string ply;
    std::string glb;
    double violet_mm = 0.0;  ///< Thickness at the dark end of the map.
    double yellow_mm = 0.0;  ///< Thickness at the bright end and beyond.
};

/// Colors by thickness: viridis from 0 to kShownOverLimit times the limit of what counts as thin,
/// so that thin places are dark. \pre plan.thin
[[nodiscard]] ColoredPart thickness_colored(const Plan& plan);

/// The part colored by the mean density beneath its surface.
struct DensityColoredPart {
    std::string ply;
    std::string glb;
    double violet_kg_m3 = 0.0;  ///< Density at the dark end of the map.
    double yellow_kg_m3 = 0.0;  ///< Density at the bright end.
};

/// Colors by density: viridis from the core's density to the skin's, whichever is less at the dark
/// end; all one color where both are the same. \pre plan.foam->density
[[nodiscard]] DensityColoredPart density_colored(const Plan& plan);

}  // namespace cavigram
