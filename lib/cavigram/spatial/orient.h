// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/geom/vector.h"

namespace cavigram {

/// On which side of the line from `a` to `b` the point `p` lies: 1 left, -1 right, 0 exactly on it.
///
/// Exact for any finite doubles whose products neither overflow nor fall below the normal range: a
/// double-precision test with an error bound decides nearly always, a sum of exact products the
/// rest (Shewchuk, Discrete Comput. Geom. 18 (1997) 305). O(1).
[[nodiscard]] int orient(const Vec2& a, const Vec2& b, const Vec2& p);

/// As orient, but never 0 unless a == b: a `p` on the line is thought of as moved by an
/// infinitesimal in x and a much smaller one in y (simulation of simplicity). side(a, b, p) ==
/// -side(b, a, p), so a point over the shared edge of two triangles is in exactly one.
[[nodiscard]] int side(const Vec2& a, const Vec2& b, const Vec2& p);

/// Whether the triangle abc holds `p` in the sense of side(): 1 when abc runs counter-clockwise, -1
/// when clockwise, 0 when `p` is outside. Triangles without area hold nothing. Summed over a closed
/// surface's triangles projected to a plane this gives exactly 0 for every `p`.
[[nodiscard]] int triangle_winding(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& p);

}  // namespace cavigram
