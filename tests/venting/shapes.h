// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <functional>
#include <random>
#include <vector>

#include "cavigram/geom/directions.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/weld.h"

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

/// A ring with waves and noise on its surface, `segments`^2 triangles: for timing.
inline TriMesh bumpy_ring(int segments, double noise_mm, std::uint32_t seed) {
    TriMesh mesh = torus_solid(60, 25, segments).mesh;
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> jitter(-noise_mm, noise_mm);
    for (Vec3& v : mesh.vertices) {
        const Vec3 core = 60.0 * Vec3(v.x(), v.y(), 0.0).normalized();
        const Vec3 n = (v - core).normalized();
        v += (2.0 * std::sin(0.3 * v.x()) * std::sin(0.3 * v.y()) * std::cos(0.3 * v.z()) +
              jitter(random)) *
             n;
    }
    return mesh;
}

/// A round tube bent to a U: two upright arms at x = -ring and ring, ending at z = low and z =
/// high, and half a ring below z = 0 between them. `n` flat sides, 2n steps around the bend.
inline Solid bent_tube(double ring_mm, double tube_mm, double low_mm, double high_mm, int n) {
    const double pi = 4.0 * std::atan(1.0);
    Solid tube;
    TriMesh& mesh = tube.mesh;
    const auto ring = [&](const Vec3& center, const Vec3& outward) {
        for (int k = 0; k < n; ++k) {
            const double a = 2.0 * pi * k / n;
            mesh.vertices.push_back(
                center + tube_mm * (std::cos(a) * outward + std::sin(a) * Vec3::UnitY()));
        }
    };
    ring(Vec3(-ring_mm, 0, low_mm), Vec3(-1, 0, 0));
    for (int i = 0; i <= 2 * n; ++i) {
        const double a = pi * i / (2 * n);
        const Vec3 out(-std::cos(a), 0, -std::sin(a));
        ring(ring_mm * out, out);
    }
    ring(Vec3(ring_mm, 0, high_mm), Vec3(1, 0, 0));
    const auto rings = static_cast<std::int32_t>(mesh.vertices.size()) / n;
    for (std::int32_t i = 0; i + 1 < rings; ++i) {
        for (std::int32_t k = 0; k < n; ++k) {
            const std::int32_t next = (k + 1) % n;
            mesh.triangles.push_back({i * n + k, i * n + next, (i + 1) * n + k});
            mesh.triangles.push_back({i * n + next, (i + 1) * n + next, (i + 1) * n + k});
        }
    }
    for (std::int32_t k = 1; k + 1 < n; ++k) {
        const std::int32_t base = (rings - 1) * n;
        mesh.triangles.push_back({0, k + 1, k});
        mesh.triangles.push_back({base, base + k, base + k + 1});
    }
    // Outward, whichever way the rings run.
    double volume = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        volume += mesh.corner(t, 0).dot(mesh.corner(t, 1).cross(mesh.corner(t, 2))) / 6.0;
    }
    if (volume < 0.0) {
        for (Triangle& t : mesh.triangles) {
            std::swap(t[1], t[2]);
        }
    }
    tube.volume_mm3 = std::abs(volume);
    return tube;
}

/// Volume of a ring of `segments` flat sides about the z axis between z = low and high, where the
/// radius is a straight line between the profile's points (r, z), z rising.
inline double revolved_between(const std::vector<Vec2>& profile, int segments, double low,
                               double high) {
    double volume = 0.0;
    const double share = 0.5 * segments * std::sin(8.0 * std::atan(1.0) / segments);
    for (std::size_t i = 0; i + 1 < profile.size(); ++i) {
        const double a = std::max(low, profile[i].y());
        const double b = std::min(high, profile[i + 1].y());
        if (a < b) {
            const double slope =
                (profile[i + 1].x() - profile[i].x()) / (profile[i + 1].y() - profile[i].y());
            const double p = profile[i].x() + slope * (a - profile[i].y());
            const double q = profile[i].x() + slope * (b - profile[i].y());
            volume += share * (p * p + p * q + q * q) / 3.0 * (b - a);
        }
    }
    return volume;
}

/// Points of a half circle from pole to pole.
inline std::vector<Vec2> arc_profile(double radius_mm, int segments) {
    std::vector<Vec2> profile;
    const int steps = segments / 2;
    for (int i = 0; i <= steps; ++i) {
        const double a = 4.0 * std::atan(1.0) * i / steps;
        profile.emplace_back(radius_mm * std::sin(a), -radius_mm * std::cos(a));
    }
    return profile;
}

/// A plate 4c x 2c x 10 with two upright cones on it, side by side, tips at x = -c and c: check A5.
/// `segments` a multiple of 8.
inline TriMesh two_cones(double radius_mm, double height_mm, int segments) {
    const double c = 1.5 * radius_mm;
    TriMesh mesh;
    const auto add = [&mesh](const Vec3& a, const Vec3& b, const Vec3& d) {
        const auto first = static_cast<std::int32_t>(mesh.vertices.size());
        mesh.vertices.insert(mesh.vertices.end(), {a, b, d});
        mesh.triangles.push_back({first, first + 1, first + 2});
    };
    const auto circle = [&](int k) {
        const double a = 8.0 * std::atan(1.0) * k / segments;
        return Vec3(radius_mm * std::cos(a) - c, radius_mm * std::sin(a), 0.0);
    };
    const auto square = [&](int k) -> Vec3 {
        // Which of the eighths, and how far along its side: exact on corners and middles.
        const int eighth = segments / 8;
        const double t =
            std::tan(8.0 * std::atan(1.0) * ((k + eighth) % (2 * eighth) - eighth) / segments);
        const double along = (k + eighth) % (2 * eighth) == 0 ? -c : c * t;
        switch ((k + eighth) / (2 * eighth) % 4) {
            case 0:
                return {c - c, along, 0.0};
            case 1:
                return {-along - c, c, 0.0};
            case 2:
                return {-c - c, -along, 0.0};
            default:
                return {along - c, -c, 0.0};
        }
    };
    const Vec3 down(0, 0, -10);
    for (int k = 0; k < segments; ++k) {
        const int n = (k + 1) % segments;
        const Vec3 tip(-c, 0, height_mm);
        add(circle(k), circle(n), tip);
        add(circle(k), square(k), square(n));
        add(circle(k), square(n), circle(n));
        add(square(n) + down, square(k) + down, Vec3(-c, 0, 0) + down);
        if (square(k).x() != 0.0 || square(n).x() != 0.0) {
            add(square(k) + down, square(n) + down, square(n));
            add(square(k) + down, square(n), square(k));
        }
    }
    const TriMesh other =
        transformed(rotated(mesh, Mat3(Vec3(-1, -1, 1).asDiagonal())), 1.0, Vec3::Zero());
    return weld_exact(joined(mesh, other)).mesh;
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
