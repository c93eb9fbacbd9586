// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>

#include <Eigen/Core>
#include <Eigen/Geometry>

namespace cavigram {

/// A point or a direction in space; positions are in millimeters unless a name says otherwise.
using Vec3 = Eigen::Vector3d;
/// A point in a plane.
using Vec2 = Eigen::Vector2d;
using Mat3 = Eigen::Matrix3d;
/// An axis-aligned box; empty until something is put in.
using Box3 = Eigen::AlignedBox3d;

/// For rooms that speak of places without Eigen (findings).
[[nodiscard]] inline std::array<double, 3> to_array(const Vec3& v) {
    return {v.x(), v.y(), v.z()};
}

}  // namespace cavigram
