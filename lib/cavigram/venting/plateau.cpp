// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/plateau.h"

#include <cmath>
#include <limits>
#include <set>
#include <vector>

#include "cavigram/geom/triangle.h"
#include "cavigram/venting/air_tree_detail.h"

namespace cavigram {

using detail::at;
using detail::dot;

namespace {

// A piece of the level place: a triangle, or an edge when two corners are one.
struct Piece {
    Vec3 a, b, c;
};

// Centroid weighted by `weight`, moved to the nearest point of the pieces.
template <class Weight>
bool middle_of(const std::vector<Piece>& pieces, const Weight& weight, Vec3& middle) {
    Vec3 sum = Vec3::Zero();
    double total = 0.0;
    if (pieces.empty()) {
        return false;
    }
    const Vec3 origin = pieces.front().a;
    for (const Piece& p : pieces) {
        const double w = weight(p);
        total += w;
        sum += w * ((p.a - origin) + (p.b - origin) + (p.c - origin)) / 3.0;
    }
    if (!(total > 0.0)) {
        return false;
    }
    const Vec3 centroid = origin + sum / total;
    double best = std::numeric_limits<double>::infinity();
    for (const Piece& p : pieces) {
        const Vec3 q = closest_point_on_triangle(centroid, p.a, p.b, p.c);
        if ((q - centroid).squaredNorm() < best) {
            best = (q - centroid).squaredNorm();
            middle = q;
        }
    }
    return true;
}

}  // namespace

Vec3 plateau_middle_mm(const AirTreeBuilder& solid, const Vec3& up, std::int32_t peak_vertex) {
    const std::vector<Vec3>& vertices = solid.mesh().vertices;
    const double tolerance = kLevelShare * solid.bounds_mm().diagonal().norm();
    const double height = dot(up, at(vertices, peak_vertex));
    const auto level = [&](std::int32_t v) {
        return std::abs(dot(up, at(vertices, v)) - height) <= tolerance;
    };
    std::set<std::int32_t> seen{peak_vertex};
    std::vector<std::int32_t> pending{peak_vertex};
    std::vector<Piece> triangles;
    std::vector<Piece> edges;
    while (!pending.empty()) {
        const std::int32_t v = pending.back();
        pending.pop_back();
        const std::span<const std::int32_t> ring = solid.around(v);
        for (std::size_t i = 0; i < ring.size(); ++i) {
            const std::int32_t w = ring[i];
            if (!level(w)) {
                continue;
            }
            if (seen.insert(w).second) {
                pending.push_back(w);
            }
            const std::int32_t x = ring[(i + 1) % ring.size()];
            // Each edge and triangle once, from its first vertex.
            if (v < w) {
                const Vec3& end = at(vertices, w);
                edges.push_back({at(vertices, v), 0.5 * (at(vertices, v) + end), end});
            }
            if (level(x) && v < w && v < x) {
                triangles.push_back({at(vertices, v), at(vertices, w), at(vertices, x)});
            }
        }
    }
    Vec3 middle = at(vertices, peak_vertex);
    const auto area = [](const Piece& p) { return double_area_vector(p.a, p.b, p.c).norm(); };
    const auto length = [](const Piece& p) { return (p.c - p.a).norm(); };
    if (!middle_of(triangles, area, middle)) {
        middle_of(edges, length, middle);
    }
    return middle;
}

}  // namespace cavigram
