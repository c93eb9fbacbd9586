// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// Depth of `p` below the surface, negative outside. Inside is where the surface winds around `p`
/// at least once. About O(log n).
[[nodiscard]] double depth_at(const TriangleBvh& surface, const Vec3& p);

/// The point of a part that lies deepest below its surface: the center of the largest ball that
/// fits in.
struct DeepestPoint {
    Vec3 at_mm = Vec3::Zero();  ///< That point.
    double depth_mm = 0.0;      ///< 0 when no inside was found.
};

/// Finds the deepest point by halving the most promising cubes of a grid, until they are about 1e-6
/// of the part's size.
///
/// What is given is a true depth at a true point, so never too much. A second basin could be missed
/// only if its ball is larger by less than the cubes that were left out, about a fiftieth of the
/// part's size. Where many points are equally deep one of them is given. About 10,000 nearest-point
/// queries.
///
/// \pre closed surface.
///
/// \throw Cancelled
[[nodiscard]] DeepestPoint deepest_point(const TriangleBvh& surface,
                                         const RunContext& context = {});

}  // namespace cavigram
