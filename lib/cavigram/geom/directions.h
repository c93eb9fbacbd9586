// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/geom/vector.h"

namespace cavigram {

/// A right-handed set of axes: x and y lie across, z is the given direction.
struct Frame {
    Vec3 x = Vec3::UnitX();  ///< Unit, across.
    Vec3 y = Vec3::UnitY();  ///< Unit, across both.
    Vec3 z = Vec3::UnitZ();  ///< Unit, along the direction.

    /// `p` seen in this frame.
    [[nodiscard]] Vec3 local(const Vec3& p) const { return {x.dot(p), y.dot(p), z.dot(p)}; }
    /// The way back.
    [[nodiscard]] Vec3 world(const Vec3& q) const { return q.x() * x + q.y() * y + q.z() * z; }
};

/// A frame whose z is `direction` made a unit; for a coordinate axis it is exactly the coordinate
/// axes in cyclic order, so that nothing is rounded.
///
/// \pre direction is not zero.
[[nodiscard]] Frame frame_along(const Vec3& direction);

/// `count` unit directions spread evenly over the sphere (Fibonacci lattice; Gonzalez, Math.
/// Geosci. 42 (2010) 49). Always the same list for the same count.
[[nodiscard]] std::vector<Vec3> sphere_directions(int count);

}  // namespace cavigram
