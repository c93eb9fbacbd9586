// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/geom/vector.h"

namespace cavigram {

/// On which side of the plane abc the point `p` lies: 1 where the normal (b-a)x(c-a) points, -1 on
/// the other side, 0 on the plane or when abc has no area.
///
/// Exact for finite doubles (CGAL's filtered predicates; exact arithmetic where the filter can't
/// decide). O(1).
[[nodiscard]] int orient(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& p);

/// A triangle met on the vertical line through a point: 1 when it looks up, -1 when it looks down,
/// 0 when the line misses it or it lies below the point.
///
/// The point is thought of as moved by an infinitesimal in x and a much smaller one in y, as in
/// triangle_winding() of orient.h (simulation of simplicity: Edelsbrunner & Muecke, ACM Trans.
/// Graph. 9 (1990) 66). So a line through an edge or a corner meets exactly one triangle of each
/// sheet, and a triangle through the point itself is above or below it as its slope says; a level
/// one counts as above. Exact.
[[nodiscard]] int sheet_above(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& p);

/// Three corners, for calls that compare two triangles.
struct TriangleCorners {
    Vec3 a;  ///< First.
    Vec3 b;  ///< Second.
    Vec3 c;  ///< Third.
};

/// Which of two triangles the vertical line through `p` (moved as above) meets lower down: -1 the
/// first, 1 the second, 0 when they lie in one plane. Exact.
///
/// \pre triangle_winding() is not 0 for either.
[[nodiscard]] int compare_sheets(const TriangleCorners& first, const TriangleCorners& second,
                                 const Vec3& p);

}  // namespace cavigram
