// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// The side of the surface on which depth is counted positive.
enum class DepthSide { inside, outside };

// One pass of the depth over adaptive cells at a given fineness.
struct PassOptions {
    DepthSide side = DepthSide::inside;
    std::vector<double>
        levels_mm;           // rising, all above 0; what lies at or above the first is not resolved
    double wanted_mm = 0.0;  // least depth at which cells shrink with depth
    double per_depth = 1.0;  // cells at depth s are no larger than max(s, wanted) / per_depth
    std::size_t max_cells = 0;
};

// Volumes in mm3 that lie at or below each level.
struct PassResult {
    std::vector<double> fine;      // from the finest cells' planes
    std::vector<double> coarse;    // from their parents' planes
    std::vector<double> certain;   // certainly at or below the level
    std::vector<double> possible;  // possibly
    double grid_mm3 = 0.0;  // of the whole grid; outside, depths up to the last level end within it
    double cell_mm = 0.0;
    std::size_t cells = 0;
    bool over_budget = false;  // max_cells was reached; the sums are not complete
};

[[nodiscard]] PassResult depth_pass(const TriangleBvh& surface, const PassOptions& options,
                                    const RunContext& context);

}  // namespace cavigram::detail
