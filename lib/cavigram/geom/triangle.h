// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/geom/vector.h"

namespace cavigram {

/// Twice the area vector of triangle abc: along the normal by the right-hand rule, as long as twice
/// the area.
[[nodiscard]] inline Vec3 double_area_vector(const Vec3& a, const Vec3& b, const Vec3& c) {
    return (b - a).cross(c - a);
}

/// The point of triangle abc nearest to `p`. Degenerate triangles act as their edges or point.
/// Method: Voronoi regions of the triangle (Ericson, Real-Time Collision Detection, 2005, 5.1.5).
/// O(1).
[[nodiscard]] Vec3 closest_point_on_triangle(const Vec3& p, const Vec3& a, const Vec3& b,
                                             const Vec3& c);

/// Signed solid angle of triangle abc seen from `p`, in steradians; positive when `p` is behind the
/// face (inside, for an outward-oriented solid). Van Oosterom & Strackee, IEEE Trans. Biomed. Eng.
/// 30 (1983) 125. 0 for `p` on a vertex.
[[nodiscard]] double solid_angle(const Vec3& p, const Vec3& a, const Vec3& b, const Vec3& c);

}  // namespace cavigram
