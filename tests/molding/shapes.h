// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <utility>
#include <vector>

#include "cavigram/mesh/solids.h"

namespace cavigram {

/// A prism along y from 0 to `length`: the simple polygon of points (x, z), counter-clockwise with
/// x to the right and z up, cut into triangles ear by ear.
inline TriMesh prism(const std::vector<Vec2>& outline, double length) {
    const auto n = static_cast<std::int32_t>(outline.size());
    TriMesh mesh;
    for (const double y : {0.0, length}) {
        for (const Vec2& p : outline) {
            mesh.vertices.emplace_back(p.x(), y, p.y());
        }
    }
    const auto turn = [&](std::int32_t a, std::int32_t b, std::int32_t c) {
        const Vec2 u = outline[static_cast<std::size_t>(b)] - outline[static_cast<std::size_t>(a)];
        const Vec2 v = outline[static_cast<std::size_t>(c)] - outline[static_cast<std::size_t>(a)];
        return u.x() * v.y() - u.y() * v.x();
    };
    for (std::int32_t i = 0; i < n; ++i) {
        const std::int32_t j = (i + 1) % n;
        // y x x = -z: along the bottom they look down.
        mesh.triangles.push_back({i, n + j, j});
        mesh.triangles.push_back({i, n + i, n + j});
    }
    std::vector<std::int32_t> left;
    for (std::int32_t i = 0; i < n; ++i) {
        left.push_back(i);
    }
    while (left.size() >= 3) {
        for (std::size_t i = 0; i < left.size(); ++i) {
            const std::int32_t a = left[(i + left.size() - 1) % left.size()];
            const std::int32_t b = left[i];
            const std::int32_t c = left[(i + 1) % left.size()];
            bool ear = turn(a, b, c) > 0.0;
            for (const std::int32_t p : left) {
                ear = ear &&
                      (p == a || p == b || p == c ||
                       !(turn(a, b, p) >= 0.0 && turn(b, c, p) >= 0.0 && turn(c, a, p) >= 0.0));
            }
            if (ear) {
                mesh.triangles.push_back({a, b, c});              // looks to -y
                mesh.triangles.push_back({n + a, n + c, n + b});  // looks to +y
                left.erase(left.begin() + static_cast<std::ptrdiff_t>(i));
                break;
            }
        }
    }
    return mesh;
}

/// A block 48 x 40 x 24 with a slot along its top: `mouth` wide above, `foot` wide below, 10 deep.
inline TriMesh dovetail(double mouth, double foot, double length = 40.0) {
    return prism({{-24, 0},
                  {24, 0},
                  {24, 24},
                  {0.5 * mouth, 24},
                  {0.5 * foot, 14},
                  {-0.5 * foot, 14},
                  {-0.5 * mouth, 24},
                  {-24, 24}},
                 length);
}

/// The same block with a T-shaped slot: a mouth 12 wide and 8 deep, and below it a foot 28 wide and
/// 6 high.
inline TriMesh t_slot() {
    return prism({{-24, 0},
                  {24, 0},
                  {24, 24},
                  {6, 24},
                  {6, 16},
                  {14, 16},
                  {14, 10},
                  {-14, 10},
                  {-14, 16},
                  {-6, 16},
                  {-6, 24},
                  {-24, 24}},
                 40.0);
}

/// Two discs of diameter 60 and a neck of 40 between them, each 20 high.
inline Solid dumbbell(int segments) {
    return revolved_solid(
        {{0, 0}, {30, 0}, {30, 20}, {20, 20}, {20, 40}, {30, 40}, {30, 60}, {0, 60}}, segments);
}

/// A disc of radius 40, 40 high, with a hole through it: 20 wide at both ends, 32 in the middle.
inline Solid barrel_hole(int segments) {
    return revolved_solid({{16, 20}, {10, 0}, {40, 0}, {40, 40}, {10, 40}}, segments,
                          ProfileEnds::ring);
}

/// A cylinder of radius 20 with a groove around it down to 18.
inline Solid ring_groove(int segments) {
    return revolved_solid(
        {{0, 0}, {20, 0}, {20, 15}, {18, 15}, {18, 25}, {20, 25}, {20, 40}, {0, 40}}, segments);
}

/// A cap of radius 30 on a stem of radius 20.
inline Solid mushroom(int segments) {
    return revolved_solid({{0, 0}, {20, 0}, {20, 30}, {30, 30}, {30, 40}, {0, 40}}, segments);
}

/// How much of a circle's area a polygon of `segments` sides with its corners on it has.
inline double polygon_share(int segments) {
    const double a = 8.0 * std::atan(1.0) / segments;
    return std::sin(a) / a;
}

}  // namespace cavigram
