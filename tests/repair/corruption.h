// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <numbers>
#include <optional>
#include <random>
#include <string>
#include <vector>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"

#include "support/damage.h"
#include "support/oracles.h"
#include "support/ray_volume.h"
#include "support/tubes.h"

/// Solids of known volume and seeded recipes that harm them. The random numbers are made from the
/// generator's own bits, so that they are the same everywhere.
namespace corruption {

using cavigram::TriMesh;
using cavigram::Vec3;

struct Body {
    std::string name;
    TriMesh mesh;
    double volume_mm3 = 0.0;
    bool box = false;
};

/// Harmed triangles, and the volume and Euler number that mending should bring back.
struct Case {
    TriMesh mesh;
    double volume_mm3 = 0.0;
    std::optional<long> euler;  ///< None where no closed form tells.
    double slack = 1e-6;        ///< Share by which `volume_mm3` itself may be off.
};

class Random {
  public:
    explicit Random(std::uint64_t seed) : bits_(seed) {}
    double unit() { return static_cast<double>(bits_() >> 11) * 0x1p-53; }
    double between(double low, double high) { return low + (high - low) * unit(); }
    std::size_t below(std::size_t n) {
        return static_cast<std::size_t>(unit() * static_cast<double>(n));
    }
    /// Sum of twelve less six: variance 1.
    double normal() {
        double sum = -6.0;
        for (int i = 0; i < 12; ++i) {
            sum += unit();
        }
        return sum;
    }

  private:
    std::mt19937_64 bits_;
};

inline double area(const TriMesh& mesh, std::size_t t) {
    return 0.5 *
           cavigram::double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2))
               .norm();
}

inline double area(const TriMesh& mesh) {
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        sum += area(mesh, t);
    }
    return sum;
}

/// Without the triangles nearest to a random one (by straight distance of centers), up to a share
/// of the area.
inline TriMesh with_hole(const TriMesh& mesh, double share, Random& random) {
    const auto center = [&](std::size_t t) {
        return Vec3((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0);
    };
    const Vec3 middle = center(random.below(mesh.triangles.size()));
    std::vector<std::pair<double, std::size_t>> order;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        order.emplace_back((center(t) - middle).norm(), t);
    }
    std::sort(order.begin(), order.end());
    std::vector<bool> gone(mesh.triangles.size(), false);
    double left = share * area(mesh);
    for (const auto& [distance, t] : order) {
        left -= area(mesh, t);
        if (left < 0.0) {
            break;
        }
        gone[t] = true;
    }
    TriMesh open;
    open.vertices = mesh.vertices;
    for (std::size_t t = 0; t < gone.size(); ++t) {
        if (!gone[t]) {
            open.triangles.push_back(mesh.triangles[t]);
        }
    }
    return open;
}

/// As with_hole, drawn anew until what is gone is a disc: a cut through a handle would leave
/// nothing that tells of the handle.
inline TriMesh with_disc_gone(const TriMesh& mesh, double share, Random& random) {
    for (int i = 0;; ++i) {
        TriMesh open = with_hole(mesh, share, random);
        const bool disc = oracle::euler_number(open) == oracle::euler_number(mesh) - 1 &&
                          border_loops(open, adjacency(open)).size() ==
                              border_loops(mesh, adjacency(mesh)).size() + 1;
        if (disc || i == 50) {
            return open;
        }
    }
}

/// Along the normals; white noise averaged over neighbors twice, as scanners smooth, then brought
/// to the standard deviation.
inline TriMesh with_noise(TriMesh mesh, double deviation_mm, Random& random) {
    std::vector<double> height(mesh.vertices.size());
    for (double& h : height) {
        h = random.normal();
    }
    std::vector<Vec3> normal(height.size(), Vec3::Zero());
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (const std::int32_t v : mesh.triangles[t]) {
            normal[static_cast<std::size_t>(v)] += cavigram::double_area_vector(
                mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        }
    }
    for (int pass = 0; pass < 2; ++pass) {
        std::vector<double> sum = height;
        std::vector<double> count(height.size(), 1.0);
        for (const cavigram::Triangle& t : mesh.triangles) {
            for (std::size_t i = 0; i < 3; ++i) {
                sum[static_cast<std::size_t>(t[i])] +=
                    height[static_cast<std::size_t>(t[(i + 1) % 3])];
                count[static_cast<std::size_t>(t[i])] += 1.0;
            }
        }
        for (std::size_t v = 0; v < height.size(); ++v) {
            height[v] = sum[v] / count[v];
        }
    }
    double square = 0.0;
    for (const double h : height) {
        square += h * h / static_cast<double>(height.size());
    }
    for (std::size_t v = 0; v < height.size(); ++v) {
        if (normal[v].norm() > 0.0) {
            mesh.vertices[v] +=
                deviation_mm * height[v] / std::sqrt(square) * normal[v].normalized();
        }
    }
    return mesh;
}

inline TriMesh with_flips(const TriMesh& mesh, Random& random) {
    const Vec3 way = Vec3(random.normal(), random.normal(), random.normal()).normalized();
    const cavigram::Box3 box = bounds(mesh);
    const double level = way.dot(box.center()) + random.between(0.15, 0.3) * box.sizes().minCoeff();
    return damage::part_flipped(mesh, [&](const Vec3& c) { return way.dot(c) > level; });
}

inline TriMesh with_repeats(TriMesh mesh, Random& random) {
    const std::size_t n = mesh.triangles.size();
    for (std::size_t i = 0; i < n / 50 + 3; ++i) {
        mesh.triangles.push_back(mesh.triangles[random.below(n)]);
    }
    return mesh;
}

/// A handful of loose triangles and one crumb, a closed box of 0.5 % of the size.
inline TriMesh with_scraps(TriMesh mesh, Random& random) {
    const cavigram::Box3 box = bounds(mesh);
    const double size = box.sizes().maxCoeff();
    const auto outside = [&] {
        return Vec3(box.max().x() + random.between(0.02, 0.2) * size,
                    random.between(box.min().y(), box.max().y()),
                    random.between(box.min().z(), box.max().z()));
    };
    for (int i = 0; i < 6; ++i) {
        const Vec3 at = outside();
        const auto v = static_cast<std::int32_t>(mesh.vertices.size());
        for (int k = 0; k < 3; ++k) {
            mesh.vertices.push_back(at + 0.005 * size *
                                             Vec3(random.unit(), random.unit(), random.unit()));
        }
        mesh.triangles.push_back({v, v + 1, v + 2});
    }
    const double edge = 0.005 * size;
    return joined(std::move(mesh),
                  transformed(cavigram::box_solid(edge, edge, edge).mesh, 1.0, outside()));
}

/// A few vertices pushed inward past their neighborhood, so that triangles around cross: the mesh
/// with less sense, the same volume but for what they cut.
inline TriMesh with_tangles(TriMesh mesh, Random& random) {
    for (int i = 0; i < 4; ++i) {
        // Two corners of one triangle change places: the triangles around both fold over each
        // other.
        const cavigram::Triangle& t = mesh.triangles[random.below(mesh.triangles.size())];
        std::swap(mesh.vertices[static_cast<std::size_t>(t[0])],
                  mesh.vertices[static_cast<std::size_t>(t[1])]);
    }
    return mesh;
}

/// Without what looks down in the lowest 2 to 5 % of the height, as a scan of a part that stands on
/// a table.
inline TriMesh without_bottom(const TriMesh& mesh, Random& random) {
    const cavigram::Box3 box = bounds(mesh);
    const double level = box.min().z() + random.between(0.02, 0.05) * box.sizes().z();
    TriMesh open;
    open.vertices = mesh.vertices;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 normal =
            cavigram::double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        const double height =
            (mesh.corner(t, 0).z() + mesh.corner(t, 1).z() + mesh.corner(t, 2).z()) / 3.0;
        if (height > level || normal.z() > -0.3 * normal.norm()) {
            open.triangles.push_back(mesh.triangles[t]);
        }
    }
    return open;
}

inline std::vector<Body> exact_bodies() {
    const auto body = [](const char* name, const cavigram::Solid& solid, int cuts = 0,
                         bool box = false) {
        return Body{name, cavigram::subdivided(solid.mesh, cuts), solid.volume_mm3, box};
    };
    return {body("sphere", cavigram::sphere_solid(50, 96)),
            body("torus", cavigram::torus_solid(50, 18, 96)),
            body("box", cavigram::box_solid(80, 60, 40), 5, true),
            body("cylinder", cavigram::cylinder_solid(30, 80, 72, 24), 1),
            body("vase",
                 cavigram::revolved_solid({{0, 0},
                                           {25, 0},
                                           {30, 10},
                                           {34, 20},
                                           {36, 30},
                                           {35, 40},
                                           {31, 50},
                                           {25, 60},
                                           {20, 70},
                                           {18, 80},
                                           {0, 80}},
                                          64),
                 1)};
}

inline cavigram::Mat3 any_turn(Random& random) {
    const double a = random.between(0.0, 6.28);
    const double b = random.between(0.0, 6.28);
    cavigram::Mat3 x;
    x << 1, 0, 0, 0, std::cos(a), -std::sin(a), 0, std::sin(a), std::cos(a);
    cavigram::Mat3 z;
    z << std::cos(b), -std::sin(b), 0, std::sin(b), std::cos(b), 0, 0, 0, 1;
    return z * x;
}

/// A tube that runs through itself, and a turned copy of it.
inline TriMesh crossed_tubes(Random& random) {
    const TriMesh tube = tubes::figure_eight(60.0, random.between(5.0, 10.0), 120, 24);
    return joined(tube, transformed(rotated(tube, any_turn(random)), 1.0,
                                    Vec3(random.between(-30, 30), random.between(-20, 20),
                                         random.between(-10, 10))));
}

/// 5 to 40 primitives that overlap: boxes on a grid of 5 mm, of which many lie flush, balls, rings
/// and cylinders turned anyhow.
inline TriMesh kitbash(Random& random) {
    TriMesh all = cavigram::box_solid(60, 60, 60).mesh;
    const std::size_t count = 4 + random.below(36);
    for (std::size_t i = 0; i < count; ++i) {
        const Vec3 at(random.between(0, 70), random.between(0, 70), random.between(0, 70));
        const auto step = [&] { return 5.0 * static_cast<double>(1 + random.below(8)); };
        TriMesh one;
        switch (random.below(5)) {
            case 0:
                one = cavigram::sphere_solid(random.between(5, 20), 32).mesh;
                break;
            case 1:
                one = cavigram::torus_solid(random.between(10, 20), random.between(2, 6), 36).mesh;
                break;
            case 2:
                one = cavigram::cylinder_solid(random.between(3, 12), random.between(20, 60), 24)
                          .mesh;
                break;
            default:
                one = cavigram::box_solid(step(), step(), step()).mesh;
                all = joined(
                    std::move(all),
                    transformed(std::move(one), 1.0, 5.0 * (at / 5.0).array().round().matrix()));
                continue;
        }
        all =
            joined(std::move(all), transformed(rotated(std::move(one), any_turn(random)), 1.0, at));
    }
    return all;
}

/// Recipes that bring a body of their own, so that they are tried on one body only.
inline bool brings_its_body(std::size_t recipe) {
    return recipe == 8 || recipe == 12 || recipe == 13;
}

inline const std::vector<std::string>& recipes() {
    static const std::vector<std::string> kNames = {
        "holes, 1-5 %",   "hole, 10-20 %", "noise, 0.1-1 %", "flips",         "cracks",
        "repeats",        "scraps",        "tangles",        "crossing copy", "no bottom",
        "all but copies", "hole, 5-25 %",  "crossing tubes", "kitbash",       "in all formats"};
    return kNames;
}

/// The body harmed by recipe number `recipe`.
inline Case harmed(const Body& body, std::size_t recipe, Random& random) {
    const TriMesh& mesh = body.mesh;
    const cavigram::Box3 box = bounds(mesh);
    const double size = box.sizes().maxCoeff();
    Case result{mesh, body.volume_mm3, oracle::euler_number(mesh)};
    switch (recipe) {
        case 0:
            for (int i = 0; i < 3; ++i) {
                result.mesh = with_disc_gone(result.mesh, random.between(0.003, 0.016), random);
            }
            break;
        case 1:
            result.mesh = with_disc_gone(mesh, random.between(0.1, 0.2), random);
            break;
        case 2:
            result.mesh = with_noise(mesh, size * random.between(0.001, 0.01), random);
            break;
        case 3:
            result.mesh = with_flips(mesh, random);
            break;
        case 4:
            result.mesh = damage::cracked(mesh, size * random.between(2e-5, 1e-4),
                                          static_cast<unsigned>(random.below(1000000)));
            break;
        case 5:
            result.mesh = with_repeats(mesh, random);
            break;
        case 6:
            result.mesh = with_scraps(mesh, random);
            break;
        case 7:
            result.mesh = with_tangles(mesh, random);
            break;
        case 8: {
            // Only of boxes the union with a shifted copy is known in closed form.
            const cavigram::Solid plain = cavigram::box_solid(80, 60, 40);
            const TriMesh base = cavigram::subdivided(plain.mesh, 3);
            const Vec3 shift(random.between(5, 75), random.between(5, 55), random.between(5, 35));
            result.mesh = joined(base, transformed(base, 1.0, shift));
            result.volume_mm3 =
                2.0 * plain.volume_mm3 - (80 - shift.x()) * (60 - shift.y()) * (40 - shift.z());
            result.euler = 2;
            break;
        }
        case 9:
            result.mesh = without_bottom(mesh, random);
            break;
        case 11:
            result.mesh = with_disc_gone(mesh, random.between(0.05, 0.25), random);
            break;
        case 12:
        case 13:
            result.mesh = recipe == 12 ? crossed_tubes(random) : kitbash(random);
            // Turned, so that no face lies along the lines.
            result.volume_mm3 = oracle::ray_volume(rotated(result.mesh, any_turn(random)), 1500);
            result.euler = std::nullopt;
            result.slack = 2e-4;
            break;
        default:
            result.mesh = with_noise(mesh, size * random.between(0.0005, 0.002), random);
            result.mesh = with_disc_gone(result.mesh, random.between(0.005, 0.03), random);
            result.mesh = with_disc_gone(result.mesh, random.between(0.005, 0.03), random);
            result.mesh =
                with_scraps(with_repeats(with_flips(result.mesh, random), random), random);
            break;
    }
    result.mesh = damage::exploded(result.mesh);
    return result;
}

}  // namespace corruption
