// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include "cavigram/geom/directions.h"
#include "cavigram/mesh/solids.h"

namespace cavigram {

/// Unit cubes where `filled(x, y, z)`.
inline Solid blocks(int nx, int ny, int nz, const std::function<bool(int, int, int)>& filled) {
    std::vector<bool> cells;
    for (int z = 0; z < nz; ++z) {
        for (int y = 0; y < ny; ++y) {
            for (int x = 0; x < nx; ++x) {
                cells.push_back(filled(x, y, z));
            }
        }
    }
    return polycube_solid(cells, nx, ny, nz);
}

/// A plate 3 x 1 x 1 with a tower of 4 at one end and one of 3 at the other.
inline Solid two_towers() {
    return blocks(3, 1, 5, [](int x, int, int z) {
        return z == 0 || (x == 0 && z <= 4) || (x == 2 && z <= 3);
    });
}

/// A U with a base of 1 and arms of 10 and 7, each 2 x 3 across.
inline Solid u_arms() {
    return blocks(6, 3, 10, [](int x, int, int z) { return z == 0 || x < 2 || (x >= 4 && z < 7); });
}

/// A closed hollow 6 x 6 x 8 with walls of 1, on whose floor stands a 2 x 2 pillar 6 high.
inline Solid stalagmite() {
    return blocks(8, 8, 10, [](int x, int y, int z) {
        const bool wall = x == 0 || x == 7 || y == 0 || y == 7 || z == 0 || z == 9;
        return wall || (x >= 3 && x < 5 && y >= 3 && y < 5 && z <= 6);
    });
}

/// A bowl between two spheres, revolved about z: a hollow half ball with its opening upward.
inline Solid bowl(double outer_mm, double inner_mm, int segments) {
    std::vector<Vec2> profile;
    const int steps = segments / 4;
    const double quarter = 2.0 * std::atan(1.0);
    for (int i = 0; i <= steps; ++i) {
        const double a = quarter * i / steps;
        profile.emplace_back(i == 0 ? 0.0 : outer_mm * std::sin(a),
                             i == steps ? 0.0 : -outer_mm * std::cos(a));
    }
    for (int i = steps; i >= 0; --i) {
        const double a = quarter * i / steps;
        profile.emplace_back(i == 0 ? 0.0 : inner_mm * std::sin(a),
                             i == steps ? 0.0 : -inner_mm * std::cos(a));
    }
    return revolved_solid(profile, segments);
}

/// Each vertex of a ball moved along its radius by a sum of waves and a little noise: many peaks.
inline TriMesh bumpy_ball(double radius_mm, int subdivisions, double waves, double height,
                          double noise, std::uint32_t seed) {
    TriMesh mesh = subdivided(box_solid(2, 2, 2).mesh, subdivisions);
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> jitter(-noise, noise);
    for (Vec3& v : mesh.vertices) {
        const Vec3 n = (v - Vec3(1, 1, 1)).normalized();
        const double bump = std::sin(waves * n.x() + 0.3) * std::sin(waves * n.y() + 1.1) *
                            std::sin(waves * n.z() + 2.3);
        v = radius_mm * (1.0 + height * bump + jitter(random)) * n;
    }
    return mesh;
}

/// The mesh with its vertices and triangles in another order.
inline TriMesh shuffled(const TriMesh& mesh, std::uint32_t seed) {
    std::mt19937 random(seed);
    std::vector<std::int32_t> place(mesh.vertices.size());
    for (std::size_t i = 0; i < place.size(); ++i) {
        place[i] = static_cast<std::int32_t>(i);
    }
    // Not std::shuffle: its draws are not the same with every library.
    for (std::size_t i = place.size(); i > 1; --i) {
        std::swap(place[i - 1], place[random() % i]);
    }
    TriMesh result;
    result.vertices.resize(mesh.vertices.size());
    for (std::size_t i = 0; i < place.size(); ++i) {
        result.vertices[static_cast<std::size_t>(place[i])] = mesh.vertices[i];
    }
    for (const Triangle& t : mesh.triangles) {
        const unsigned turn = random() % 3;
        Triangle moved{};
        for (std::size_t i = 0; i < 3; ++i) {
            moved[i] = place[static_cast<std::size_t>(t[(i + turn) % 3])];
        }
        result.triangles.push_back(moved);
    }
    for (std::size_t i = result.triangles.size(); i > 1; --i) {
        std::swap(result.triangles[i - 1], result.triangles[random() % i]);
    }
    return result;
}

/// A rotation drawn from a seed.
inline Mat3 some_rotation(std::uint32_t seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> part(-1.0, 1.0);
    const double w = part(random);
    const double x = part(random);
    const double y = part(random);
    const double z = part(random);
    return Eigen::Quaterniond(w, x, y, z).normalized().toRotationMatrix();
}

}  // namespace cavigram
