// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// A plane through which a surface is its own mirror image.
struct MirrorPlane {
    Vec3 normal = Vec3::UnitX();  ///< Unit.
    double offset_mm = 0.0;       ///< normal.dot(p) of the points p on the plane.
    /// Share of the area whose image lies on the surface, within the tolerance. What has its image
    /// over a hole says nothing and is left out.
    double agreeing_share = 0.0;
    double residual_mm = 0.0;       ///< Root mean square distance of the images that do.
    double over_holes_share = 0.0;  ///< Of the area: its image lies over a hole, and tells of it.

    /// The point on the other side.
    [[nodiscard]] Vec3 image(const Vec3& p) const {
        return p - 2.0 * (normal.dot(p) - offset_mm) * normal;
    }
};

/// The planes through which at least 0.95 of the area is its own mirror image, best first, at most
/// 16.
///
/// From 63 planes through the centroid (across the three principal axes of the area, and 60 spread
/// evenly) each moves to where the images of 300 places lie best on the surface (iterated closest
/// points, the worst 15 % and those over holes left out); 16 go on with 2000 places: of those that
/// agree the ones first that put most of the surface over holes. A solid of revolution has planes
/// without end, and the ones that mirror a hole onto itself are of no use.
///
/// 0.95 is from shapes and scans tried by hand: parts that are not symmetric reached 0.82, nearly
/// symmetric ones 0.95, true ones 0.97 and more.
///
/// Cost: about 100,000 nearest points.
///
/// \pre `tree` and `adjacent` belong to `mesh`; tolerance above 0.
/// \throw Cancelled
[[nodiscard]] std::vector<MirrorPlane> mirror_planes(const TriMesh& mesh, const Adjacency& adjacent,
                                                     const TriangleBvh& tree, double tolerance_mm,
                                                     const RunContext& context = {});

}  // namespace cavigram
