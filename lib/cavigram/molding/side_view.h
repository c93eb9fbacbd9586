// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// How much of the part lies in the way of a face's rubber.
struct SideView {
    double above_mm = 0.0;  ///< Length within the part on the way out along the pull; 0: seen.
    double below_mm = 0.0;  ///< The same against it.
};

/// What stands between each face and either side: the length of the ray from its middle, along the
/// pull and against it, that lies within the part, no more than `most_mm`.
///
/// Rays start a hair (1e-5 of the diagonal) outside the face, so that a wall along the pull is seen
/// from both sides. One middle stands for the whole face.
///
/// O(triangles log triangles)
///
/// \pre `surface` is of `mesh_mm`, which is closed; the pull is not zero
///
/// \throw Cancelled
[[nodiscard]] std::vector<SideView> side_views(const TriMesh& mesh_mm, const TriangleBvh& surface,
                                               const Vec3& pull, double most_mm,
                                               const RunContext& context = {});

}  // namespace cavigram
