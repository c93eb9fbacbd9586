// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/solids.h"

#include <cmath>
#include <numbers>
#include <unordered_map>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/mesh/manifold.h"

namespace cavigram {

using std::numbers::pi;

Solid box_solid(double x_mm, double y_mm, double z_mm) {
    Solid solid;
    for (int i = 0; i < 8; ++i) {
        solid.mesh.vertices.emplace_back(i & 1 ? x_mm : 0.0, i & 2 ? y_mm : 0.0,
                                         i & 4 ? z_mm : 0.0);
    }
    solid.mesh.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                            {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
    solid.volume_mm3 = x_mm * y_mm * z_mm;
    solid.area_mm2 = 2.0 * (x_mm * y_mm + y_mm * z_mm + z_mm * x_mm);
    return solid;
}

namespace {

// Appends the ring of vertices at (r, z), or the single one on the axis, and returns its first
// index.
std::int32_t add_ring(TriMesh& mesh, const Vec2& rz, int segments) {
    const auto first = static_cast<std::int32_t>(mesh.vertices.size());
    if (rz.x() == 0.0) {
        mesh.vertices.emplace_back(0.0, 0.0, rz.y());
        return first;
    }
    for (int k = 0; k < segments; ++k) {
        const double angle = 2.0 * pi * k / segments;
        mesh.vertices.emplace_back(rz.x() * std::cos(angle), rz.x() * std::sin(angle), rz.y());
    }
    return first;
}

// With its ends drawn to the axis.
std::vector<Vec2> capped(std::vector<Vec2> profile) {
    if (profile.front().x() != 0.0) {
        profile.insert(profile.begin(), Vec2(0.0, profile.front().y()));
    }
    if (profile.back().x() != 0.0) {
        profile.emplace_back(0.0, profile.back().y());
    }
    return profile;
}

// Two triangles for each side of the strip between two rings, one where a ring is a point.
void add_strip(TriMesh& mesh, std::int32_t ring, bool ring_is_point, std::int32_t next_ring,
               bool next_is_point, int segments) {
    for (int k = 0; k < segments; ++k) {
        const int next = (k + 1) % segments;
        const std::int32_t a = ring + (ring_is_point ? 0 : k);
        const std::int32_t b = ring + (ring_is_point ? 0 : next);
        const std::int32_t c = next_ring + (next_is_point ? 0 : next);
        const std::int32_t d = next_ring + (next_is_point ? 0 : k);
        if (a != b) {
            mesh.triangles.push_back({a, b, c});
        }
        if (c != d) {
            mesh.triangles.push_back({a, c, d});
        }
    }
}

// Cubes of 1 mm, each vertex made once.
class Polycubes {
  public:
    Polycubes(const std::vector<bool>& filled, int nx, int ny, int nz)
        : filled_(filled), size_(nx, ny, nz) {}

    Solid solid() {
        for (int z = 0; z < size_.z(); ++z) {
            for (int y = 0; y < size_.y(); ++y) {
                for (int x = 0; x < size_.x(); ++x) {
                    if (at({x, y, z})) {
                        add_cube({x, y, z});
                    }
                }
            }
        }
        solid_.mesh = cut_to_manifold(solid_.mesh).mesh;
        return std::move(solid_);
    }

  private:
    [[nodiscard]] bool at(const Eigen::Vector3i& p) const {
        return (p.array() >= 0).all() && (p.array() < size_.array()).all() &&
               filled_[static_cast<std::size_t>(p.x()) +
                       static_cast<std::size_t>(size_.x()) *
                           (static_cast<std::size_t>(p.y()) +
                            static_cast<std::size_t>(size_.y()) * static_cast<std::size_t>(p.z()))];
    }

    std::int32_t vertex(const Eigen::Vector3i& p) {
        const std::int64_t key = p.x() + (size_.x() + 1LL) * (p.y() + (size_.y() + 1LL) * p.z());
        const auto [entry, is_new] =
            vertex_at_.try_emplace(key, static_cast<std::int32_t>(solid_.mesh.vertices.size()));
        if (is_new) {
            solid_.mesh.vertices.push_back(p.cast<double>());
        }
        return entry->second;
    }

    void add_cube(const Eigen::Vector3i& cube) {
        solid_.volume_mm3 += 1.0;
        for (int axis = 0; axis < 3; ++axis) {
            for (const int step : {-1, 1}) {
                if (!at(cube + step * Eigen::Vector3i::Unit(axis))) {
                    add_side(cube, axis, step);
                }
            }
        }
    }

    void add_side(const Eigen::Vector3i& cube, int axis, int step) {
        Eigen::Vector3i origin = cube;
        origin[axis] += step > 0 ? 1 : 0;
        Eigen::Vector3i u = Eigen::Vector3i::Unit((axis + 1) % 3);
        Eigen::Vector3i v = Eigen::Vector3i::Unit((axis + 2) % 3);
        if (step < 0) {
            std::swap(u, v);
        }
        const std::int32_t a = vertex(origin);
        const std::int32_t b = vertex(origin + u);
        const std::int32_t c = vertex(origin + u + v);
        const std::int32_t d = vertex(origin + v);
        solid_.mesh.triangles.push_back({a, b, c});
        solid_.mesh.triangles.push_back({a, c, d});
        solid_.area_mm2 += 1.0;
    }

    const std::vector<bool>& filled_;
    Eigen::Vector3i size_;
    std::unordered_map<std::int64_t, std::int32_t> vertex_at_;
    Solid solid_;
};

}  // namespace

Solid revolved_solid(const std::vector<Vec2>& profile_rz_mm, int segments, ProfileEnds ends) {
    CAVIGRAM_ASSERT(segments >= 3 && profile_rz_mm.size() >= 2);
    const std::vector<Vec2> profile =
        ends == ProfileEnds::caps ? capped(profile_rz_mm) : profile_rz_mm;
    Solid solid;
    std::vector<std::int32_t> ring;
    ring.reserve(profile.size());
    for (const Vec2& rz : profile) {
        ring.push_back(add_ring(solid.mesh, rz, segments));
    }
    const std::size_t strips = ends == ProfileEnds::ring ? profile.size() : profile.size() - 1;
    const double side = std::sin(pi / segments);
    const double apothem = std::cos(pi / segments);
    for (std::size_t i = 0; i < strips; ++i) {
        const std::size_t j = (i + 1) % profile.size();
        const Vec2& p = profile[i];
        const Vec2& q = profile[j];
        add_strip(solid.mesh, ring[i], p.x() == 0.0, ring[j], q.x() == 0.0, segments);
        const double r2 = (p.x() * p.x() + p.x() * q.x() + q.x() * q.x()) / 3.0;
        solid.volume_mm3 += segments * side * apothem * r2 * (q.y() - p.y());
        // A trapezoid with chords 2 r side; its height is the slant seen at the middle of a side.
        solid.area_mm2 += segments * side * (p.x() + q.x()) *
                          std::hypot(q.y() - p.y(), apothem * (q.x() - p.x()));
    }
    return solid;
}

Solid sphere_solid(double radius_mm, int segments) {
    std::vector<Vec2> profile;
    const int steps = segments / 2;
    for (int i = 0; i <= steps; ++i) {
        const double angle = pi * i / steps;
        const bool pole = i == 0 || i == steps;
        profile.emplace_back(pole ? 0.0 : radius_mm * std::sin(angle),
                             -radius_mm * std::cos(angle));
    }
    return revolved_solid(profile, segments);
}

Solid cylinder_solid(double radius_mm, double height_mm, int segments, int rings) {
    std::vector<Vec2> profile;
    for (int i = 0; i <= rings; ++i) {
        profile.emplace_back(radius_mm, height_mm * i / rings);
    }
    return revolved_solid(profile, segments);
}

Solid cone_solid(double radius_mm, double height_mm, int segments, int rings) {
    std::vector<Vec2> profile;
    for (int i = 0; i <= rings; ++i) {
        profile.emplace_back(radius_mm * (rings - i) / rings, height_mm * i / rings);
    }
    return revolved_solid(profile, segments);
}

Solid torus_solid(double ring_radius_mm, double tube_radius_mm, int segments) {
    std::vector<Vec2> profile;
    const int steps = segments / 2;
    for (int i = 0; i < steps; ++i) {
        const double angle = 2.0 * pi * i / steps;
        profile.emplace_back(ring_radius_mm + tube_radius_mm * std::cos(angle),
                             tube_radius_mm * std::sin(angle));
    }
    return revolved_solid(profile, segments, ProfileEnds::ring);
}

Solid polycube_solid(const std::vector<bool>& filled, int nx, int ny, int nz) {
    return Polycubes(filled, nx, ny, nz).solid();
}

TriMesh subdivided(TriMesh mesh, int times) {
    for (; times > 0; --times) {
        std::unordered_map<std::int64_t, std::int32_t> middle;
        std::vector<Triangle> finer;
        finer.reserve(4 * mesh.triangles.size());
        const auto midpoint = [&](std::int32_t a, std::int32_t b) {
            const std::int64_t key =
                (static_cast<std::int64_t>(std::min(a, b)) << 32) | std::max(a, b);
            const auto [entry, is_new] =
                middle.try_emplace(key, static_cast<std::int32_t>(mesh.vertices.size()));
            if (is_new) {
                const Vec3 m = 0.5 * (mesh.vertices[static_cast<std::size_t>(a)] +
                                      mesh.vertices[static_cast<std::size_t>(b)]);
                mesh.vertices.push_back(m);
            }
            return entry->second;
        };
        for (const Triangle& t : mesh.triangles) {
            const std::int32_t ab = midpoint(t[0], t[1]);
            const std::int32_t bc = midpoint(t[1], t[2]);
            const std::int32_t ca = midpoint(t[2], t[0]);
            finer.push_back({t[0], ab, ca});
            finer.push_back({ab, t[1], bc});
            finer.push_back({ca, bc, t[2]});
            finer.push_back({ab, bc, ca});
        }
        mesh.triangles = std::move(finer);
    }
    return mesh;
}

}  // namespace cavigram
