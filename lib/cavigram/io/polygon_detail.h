// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Cuts a polygon with three or more corners into corners - 2 triangles that use its corners alone
/// and run its way around.
///
/// Flat simple polygons, convex or not, are cut by their ears, seen along the polygon's mean
/// normal; quadrilaterals along the shorter of their inner diagonals. Whatever the polygon is
/// (crossing itself, without area, huge) the triangles together have the polygon's border, so a
/// closed mesh stays closed, and a flat one keeps its signed area. Up to O(corners^2); above
/// kMostEarCorners corners, or when no ear is found, the rest becomes a fan. Appends to
/// `triangles`.
void cut_polygon(std::span<const std::int32_t> corners, const std::vector<Vec3>& vertices,
                 std::vector<Triangle>& triangles);

/// The time for ears grows with the square of the corners; 5000 take well under a second.
inline constexpr std::size_t kMostEarCorners = 5000;

}  // namespace cavigram
