// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/geom/vector.h"

namespace cavigram {

/// The corners of the convex hull of points in the plane, counter-clockwise, without those on its
/// edges; one or two for points in one place or line.
///
/// O(n log n). (Monotone chain: Andrew, Inf. Process. Lett. 9 (1979) 216.)
[[nodiscard]] std::vector<Vec2> convex_hull(std::vector<Vec2> points);

/// How long a string around the points is: the perimeter of their hull; twice the distance for two.
///
/// O(n log n)
[[nodiscard]] double hull_perimeter(std::vector<Vec2> points);

}  // namespace cavigram
