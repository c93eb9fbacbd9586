// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/measure/view.h"

namespace cavigram {

/// How finely an outline is drawn.
struct SilhouetteOptions {
    /// Cells along the longer side of the outline: 0.1 mm on a part of 200 mm, finer than a pencil.
    int cells = 2000;
};

/// The shadow of a part on paper.
struct Silhouette {
    /// Closed outlines in mm on the view's paper, the last point joined to the first: around the
    /// shadow counter-clockwise, around holes in it clockwise. Largest first.
    std::vector<std::vector<Vec2>> loops;
    double cell_mm = 0.0;   ///< No point is farther than this from the true outline of the mesh.
    double area_mm2 = 0.0;  ///< Of the cells in the shadow.
};

/// The outline of a part, as its shadow in parallel light falls on paper.
///
/// Cells of the paper are in the shadow where some triangle covers their middle; the border between
/// the two is followed cell by cell and straightened to within half a cell (Douglas & Peucker,
/// Cartographica 10 (1973) 112). Gaps and fins narrower than a cell may be lost.
///
/// O(triangles + cells^2).
///
/// \throw InvalidInput for fewer than 8 or more than 20,000 cells.
///
/// \throw Cancelled
[[nodiscard]] Silhouette silhouette(const TriMesh& mesh, const View& view,
                                    const SilhouetteOptions& options = {},
                                    const RunContext& context = {});

}  // namespace cavigram
