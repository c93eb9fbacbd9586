// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"

/// Convex polyhedra and what is exactly true of them; for a few dozen corners.
namespace convex {

using cavigram::TriMesh;
using cavigram::Vec3;

/// The hull of points of which none lies inside another's face: every plane through three of them
/// that leaves all others on one side is a face. O(n^4).
inline TriMesh hull(const std::vector<Vec3>& points) {
    TriMesh mesh;
    mesh.vertices = points;
    const std::size_t n = points.size();
    std::vector<std::vector<std::int32_t>> seen;
    for (std::size_t a = 0; a < n; ++a) {
        for (std::size_t b = 0; b < n; ++b) {
            for (std::size_t c = 0; c < n; ++c) {
                if (a == b || b == c || a == c) {
                    continue;
                }
                const Vec3 normal =
                    (points[b] - points[a]).cross(points[c] - points[a]).normalized();
                const Vec3 along = (points[b] - points[a]).normalized();
                std::vector<std::int32_t> face;
                bool outside = false;
                for (std::size_t p = 0; p < n; ++p) {
                    const double height = normal.dot(points[p] - points[a]);
                    outside = outside || height > 1e-9;
                    if (std::abs(height) <= 1e-9) {
                        face.push_back(static_cast<std::int32_t>(p));
                    }
                }
                if (outside || std::find(seen.begin(), seen.end(), face) != seen.end()) {
                    continue;
                }
                seen.push_back(face);
                // Around the face's middle, counter-clockwise from outside.
                Vec3 middle = Vec3::Zero();
                for (const std::int32_t p : face) {
                    middle +=
                        points[static_cast<std::size_t>(p)] / static_cast<double>(face.size());
                }
                const auto turn = [&](std::int32_t p) {
                    const Vec3 d = points[static_cast<std::size_t>(p)] - middle;
                    return std::atan2(d.dot(normal.cross(along)), d.dot(along));
                };
                std::sort(face.begin(), face.end(),
                          [&](std::int32_t p, std::int32_t q) { return turn(p) < turn(q); });
                for (std::size_t i = 2; i < face.size(); ++i) {
                    mesh.triangles.push_back({face[0], face[i - 1], face[i]});
                }
            }
        }
    }
    return mesh;
}

/// The five regular solids about the origin, edges of length 1. Corners by the golden ratio
/// (Coxeter, Regular Polytopes; from memory).
inline TriMesh platonic(int faces) {
    const double g = std::numbers::phi;
    const double s = 1.0 / std::sqrt(8.0);
    std::vector<Vec3> points;
    const auto add = [&](double x, double y, double z) { points.emplace_back(x, y, z); };
    const auto add_turned = [&](double x, double y, double z) {
        add(x, y, z);
        add(y, z, x);
        add(z, x, y);
    };
    if (faces == 4) {
        return hull({{s, s, s}, {s, -s, -s}, {-s, s, -s}, {-s, -s, s}});
    }
    for (const double i : {-1.0, 1.0}) {
        if (faces == 8) {
            add_turned(i / std::sqrt(2.0), 0.0, 0.0);
        }
        for (const double j : {-1.0, 1.0}) {
            if (faces == 20) {
                add_turned(0.0, 0.5 * i, 0.5 * j * g);
            }
            if (faces == 12) {
                add_turned(0.0, 0.5 * i, 0.5 * j * g * g);
            }
            for (const double k : {-1.0, 1.0}) {
                if (faces == 6) {
                    add(0.5 * i, 0.5 * j, 0.5 * k);
                }
                if (faces == 12) {
                    add(0.5 * i * g, 0.5 * j * g, 0.5 * k * g);
                }
            }
        }
    }
    return hull(points);
}

/// Integral of the mean curvature of a convex polyhedron: half the sum over its edges of length
/// times the angle between the outward normals of their faces. 2 pi times its mean width.
inline double mean_curvature_mm(const TriMesh& mesh) {
    const cavigram::Adjacency adjacent = cavigram::adjacency(mesh);
    const auto normal = [&](std::size_t t) {
        return (mesh.corner(t, 1) - mesh.corner(t, 0))
            .cross(mesh.corner(t, 2) - mesh.corner(t, 0))
            .normalized();
    };
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (int i = 0; i < 3; ++i) {
            const auto other =
                static_cast<std::size_t>(adjacent.twin[3 * t + static_cast<std::size_t>(i)]) / 3;
            const Vec3 a = normal(t);
            const Vec3 b = normal(other);
            const double angle = std::atan2(a.cross(b).norm(), a.dot(b));
            sum += (mesh.corner(t, (i + 1) % 3) - mesh.corner(t, i)).norm() * angle;
        }
    }
    return 0.25 * sum;  // half, and each edge was met from both sides
}

}  // namespace convex
