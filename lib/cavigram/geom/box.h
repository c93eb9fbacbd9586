// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <limits>

#include "cavigram/geom/vector.h"

namespace cavigram {

/// An axis-aligned box; empty (min above max) until something is put in.
struct Box3 {
    Vec3 min = Vec3::Constant(std::numeric_limits<double>::infinity());
    Vec3 max = Vec3::Constant(-std::numeric_limits<double>::infinity());

    void extend(const Vec3& p) {
        min = min.cwiseMin(p);
        max = max.cwiseMax(p);
    }
    void extend(const Box3& other) {
        min = min.cwiseMin(other.min);
        max = max.cwiseMax(other.max);
    }
    [[nodiscard]] bool empty() const { return !(min.x() <= max.x()); }
    [[nodiscard]] Vec3 center() const { return 0.5 * (min + max); }
    [[nodiscard]] Vec3 size() const { return max - min; }
    /// Length of the space diagonal, 0 when empty.
    [[nodiscard]] double diagonal() const { return empty() ? 0.0 : size().norm(); }
    /// Squared distance from `p` to the box, 0 inside.
    [[nodiscard]] double squared_distance(const Vec3& p) const {
        return (min - p).cwiseMax(p - max).cwiseMax(0.0).squaredNorm();
    }
};

}  // namespace cavigram
