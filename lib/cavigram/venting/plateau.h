// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"

namespace cavigram {

/// Heights that differ by less than this share of the part's diagonal count as level: files in
/// single precision round coordinates by 6e-8 of the part's size, and turning them leaves a level
/// ceiling uneven by as much. For a part of 300 mm it is 0.3 micrometers.
inline constexpr double kLevelShare = 1e-6;

/// The middle of the level place around a peak, as a point of the surface.
///
/// From `peak_vertex` the surface is followed as far as it is level. The middle is the area
/// centroid of the level triangles, or the middle along the level edges of a ridge, or the vertex
/// itself; where the centroid lies off the level place (a ring, an L), the nearest point of it is
/// taken.
///
/// \pre the vertex is on the surface.
///
/// O(size of the level place).
[[nodiscard]] Vec3 plateau_middle_mm(const AirTreeBuilder& solid, const Vec3& up,
                                     std::int32_t peak_vertex);

}  // namespace cavigram
