// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/geom/directions.h"

#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"

namespace cavigram {

Frame frame_along(const Vec3& direction) {
    // Not squaredNorm(), which is 0 for 1e-200,0,0.
    CAVIGRAM_ASSERT((direction.array() != 0.0).any());
    Frame frame;
    // stableNormalized: a direction given as 1e-200,0,0 is still a direction.
    frame.z = direction.stableNormalized();
    for (int axis = 0; axis < 3; ++axis) {
        if (std::abs(frame.z[axis]) == 1.0) {
            frame.x = Vec3::Unit((axis + 1) % 3) * frame.z[axis];
            frame.y = Vec3::Unit((axis + 2) % 3);
            return frame;
        }
    }
    int least = 0;
    frame.z.cwiseAbs().minCoeff(&least);
    frame.x = Vec3::Unit(least).cross(frame.z).normalized();
    frame.y = frame.z.cross(frame.x);
    return frame;
}

std::vector<Vec3> sphere_directions(int count) {
    std::vector<Vec3> directions;
    directions.reserve(static_cast<std::size_t>(count));
    const double turn = 2.0 * std::numbers::pi * (1.0 - 1.0 / std::numbers::phi);
    for (int i = 0; i < count; ++i) {
        const double z = 1.0 - (2.0 * i + 1.0) / count;
        const double r = std::sqrt(1.0 - z * z);
        directions.emplace_back(r * std::cos(turn * i), r * std::sin(turn * i), z);
    }
    return directions;
}

}  // namespace cavigram
