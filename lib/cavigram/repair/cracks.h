// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What close_cracks did.
struct CrackClosing {
    TriMesh mesh;            ///< With the cracks closed.
    std::size_t joined = 0;  ///< Border vertices that were moved onto another.
    double volume_bound_mm3 =
        0.0;  ///< The volume can have changed by no more than this: moved area times distance.
    std::vector<Vec3> places_mm;  ///< Of the joined vertices.
};

/// Joins border vertices that lie closer than a quarter of the shortest border edge at either, and
/// than `reach_mm`.
///
/// Only vertices of borders: a tolerance over the whole surface would glue thin walls together.
/// Groups grow from the nearest pair; their first vertex stays where it is. O(n log n).
[[nodiscard]] CrackClosing close_cracks(const TriMesh& mesh, double reach_mm);

}  // namespace cavigram
