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

}  // namespace cavigram
