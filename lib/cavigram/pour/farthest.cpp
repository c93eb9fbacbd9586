// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/farthest.h"

#include <algorithm>
#include <cmath>
#include <functional>
#include <limits>
#include <queue>
#include <utility>
#include <vector>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

// Distance to the corner across the edge (b, c) from the triangle (a, b, c) to (b, d, c), laid
// flat; infinity where the straight way leaves the two.
double across(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& d) {
    const Vec3 edge = c - b;
    const double length = edge.norm();
    if (!(length > 0.0)) {
        return std::numeric_limits<double>::infinity();
    }
    const Vec3 unit = edge / length;
    const double xa = (a - b).dot(unit);
    const double xd = (d - b).dot(unit);
    const double ya = (a - b - xa * unit).norm();
    const double yd = (d - b - xd * unit).norm();
    // Where the way meets the edge, when d is laid on the other side of it.
    const double share = ya + yd > 0.0 ? ya / (ya + yd) : 0.0;
    const double at = xa + share * (xd - xa);
    if (at < 0.0 || at > length) {
        return std::numeric_limits<double>::infinity();
    }
    return std::hypot(xd - xa, ya + yd);
}

}  // namespace

FarthestPlace farthest_place(const AirTreeBuilder& solid, std::span<const Vec3> pour_holes_mm) {
    CAVIGRAM_ASSERT(!pour_holes_mm.empty());
    const std::vector<Vec3>& vertices = solid.mesh().vertices;
    const auto at = [&](std::int32_t v) -> const Vec3& {
        return vertices[static_cast<std::size_t>(v)];
    };
    std::vector<double> way(vertices.size(), std::numeric_limits<double>::infinity());
    using Entry = std::pair<double, std::int32_t>;
    std::priority_queue<Entry, std::vector<Entry>, std::greater<>> open;
    const auto reach = [&](std::int32_t v, double length) {
        double& best = way[static_cast<std::size_t>(v)];
        if (length < best) {
            best = length;
            open.emplace(length, v);
        }
    };
    for (const Vec3& hole : pour_holes_mm) {
        const NearestPoint nearest = solid.bvh().nearest(hole);
        for (const std::int32_t v :
             solid.mesh().triangles[static_cast<std::size_t>(nearest.triangle)]) {
            reach(v, (at(v) - hole).norm());
        }
    }
    FarthestPlace farthest;
    while (!open.empty()) {
        const auto [length, v] = open.top();
        open.pop();
        if (length > way[static_cast<std::size_t>(v)]) {
            continue;
        }
        if (length > farthest.path_mm) {
            farthest = {at(v), length};
        }
        const std::span<const std::int32_t> ring = solid.around(v);
        for (std::size_t i = 0; i < ring.size(); ++i) {
            const std::int32_t b = ring[i];
            const std::int32_t c = ring[(i + 1) % ring.size()];
            reach(b, length + (at(b) - at(v)).norm());
            // The corner d on the far side of the edge (b, c): around b it comes before c, and v
            // after it.
            const std::span<const std::int32_t> beyond = solid.around(b);
            for (std::size_t k = 0; k < beyond.size(); ++k) {
                if (beyond[(k + 1) % beyond.size()] == c) {
                    reach(beyond[k], length + across(at(v), at(b), at(c), at(beyond[k])));
                }
            }
        }
    }
    return farthest;
}

}  // namespace cavigram
