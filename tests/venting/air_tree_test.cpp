// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/air_tree.h"

#include <algorithm>
#include <array>
#include <numbers>
#include <utility>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

// The volumes of all pieces that end at a saddle and have any, least first: what is caught when
// only the highest place is open, side by side.
std::vector<double> side_volumes(const AirTree& tree) {
    std::vector<double> volumes;
    for (const AirTree::Arc& arc : tree.arcs) {
        if (arc.parent < 0 || arc.peak_vertex == tree.arcs[std::size_t(arc.parent)].peak_vertex) {
            continue;
        }
        if (arc.peak_height_mm > arc.saddle_height_mm + 1e-9) {
            volumes.push_back(arc.volume_mm3);
        }
    }
    std::sort(volumes.begin(), volumes.end());
    return volumes;
}

void check_volumes(const AirTree& tree, std::vector<double> expected) {
    const std::vector<double> volumes = side_volumes(tree);
    REQUIRE(volumes.size() == expected.size());
    std::sort(expected.begin(), expected.end());
    for (std::size_t i = 0; i < expected.size(); ++i) {
        CHECK_NEAR(volumes[i], expected[i], 1e-12);
    }
}

// What must hold in any tree.
void check_sound(const AirTree& tree, double volume_mm3) {
    CHECK_NEAR(tree.volume_mm3, volume_mm3, 1e-11);
    CHECK(tree.lost_rays == 0);
    double own = 0.0;
    for (std::size_t i = 0; i < tree.arcs.size(); ++i) {
        const AirTree::Arc& arc = tree.arcs[i];
        own += arc.own_mm3;
        CHECK(arc.own_mm3 > -1e-9 * volume_mm3);
        CHECK(arc.peak_height_mm >= arc.top_height_mm);
        CHECK(arc.top_height_mm >= arc.saddle_height_mm);
        if (arc.parent >= 0) {
            CHECK(arc.parent > static_cast<std::int32_t>(i));
            CHECK(tree.arcs[std::size_t(arc.parent)].top_height_mm == arc.saddle_height_mm);
        }
    }
    CHECK_NEAR(own, volume_mm3, 1e-11);
}

// Volumes of the pieces above a level, least first, from the tree.
std::vector<double> pieces(const AirTreeBuilder& solid, const AirTree& tree, double level) {
    std::vector<double> volumes;
    for (std::size_t i = 0; i < tree.arcs.size(); ++i) {
        const AirTree::Arc& arc = tree.arcs[i];
        const bool cut = arc.saddle_height_mm < level && level < arc.top_height_mm;
        if (cut || (arc.parent < 0 && arc.saddle_height_mm >= level)) {
            volumes.push_back(solid.volume_above_mm3(tree, static_cast<std::int32_t>(i), level));
        }
    }
    std::sort(volumes.begin(), volumes.end());
    return volumes;
}

// The same by flooding the grid: cubes that share a face hang together, those of the layer that the
// level cuts count half. Heights run along `axis`, downward when `sign` is -1.
std::vector<double> grid_pieces(const std::vector<bool>& filled, int n, int axis, int sign,
                                double level) {
    std::vector<bool> seen(filled.size(), false);
    const auto index = [n](const std::array<int, 3>& p) {
        return std::size_t(p[0] + n * (p[1] + n * p[2]));
    };
    // Share of a cube above the level.
    const auto share = [&](const std::array<int, 3>& p) {
        const double low = sign > 0 ? p[std::size_t(axis)] : -p[std::size_t(axis)] - 1;
        return std::clamp(low + 1.0 - level, 0.0, 1.0);
    };
    std::vector<double> volumes;
    for (int z = 0; z < n; ++z) {
        for (int y = 0; y < n; ++y) {
            for (int x = 0; x < n; ++x) {
                std::vector<std::array<int, 3>> pending{{x, y, z}};
                double volume = 0.0;
                while (!pending.empty()) {
                    const std::array<int, 3> p = pending.back();
                    pending.pop_back();
                    if (*std::min_element(p.begin(), p.end()) < 0 ||
                        *std::max_element(p.begin(), p.end()) >= n || !filled[index(p)] ||
                        seen[index(p)] || share(p) == 0.0) {
                        continue;
                    }
                    seen[index(p)] = true;
                    volume += share(p);
                    for (std::size_t k = 0; k < 3; ++k) {
                        for (const int step : {-1, 1}) {
                            std::array<int, 3> q = p;
                            q[k] += step;
                            pending.push_back(q);
                        }
                    }
                }
                if (volume > 0.0) {
                    volumes.push_back(volume);
                }
            }
        }
    }
    std::sort(volumes.begin(), volumes.end());
    return volumes;
}

}  // namespace

TEST_CASE("solids that can be checked by hand") {
    // Design values, by counting cubes.
    check_volumes(air_tree(two_towers().mesh, Vec3::UnitZ()), {3.0});
    check_volumes(air_tree(two_towers().mesh, -Vec3::UnitZ()), {});
    check_volumes(air_tree(u_arms().mesh, Vec3::UnitZ()), {36.0});
    check_volumes(air_tree(u_arms().mesh, -Vec3::UnitZ()), {});  // an arch
    const AirTree pillar = air_tree(stalagmite().mesh, Vec3::UnitZ());
    check_volumes(pillar, {24.0});
    CHECK(pillar.rays == 1);
    // A closed hollow catches nothing; nor does one with a shaft to the outside.
    for (const bool shaft : {false, true}) {
        const Solid box = blocks(5, 5, 5, [&](int x, int y, int z) {
            const bool hollow = x > 0 && x < 4 && y > 0 && y < 4 && z > 0 && z < 4;
            return !hollow && !(shaft && x == 2 && y == 2 && z == 4);
        });
        for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 0, 0), Vec3(1, 2, 3)}) {
            const AirTree tree = air_tree(box.mesh, up);
            check_volumes(tree, {});
            check_sound(tree, box.volume_mm3);
        }
    }
    // A cup: upright, upside down, askew.
    const Solid cup = blocks(5, 5, 5, [](int x, int y, int z) {
        return z == 0 || x == 0 || x == 4 || y == 0 || y == 4;
    });
    for (const Vec3& up : {Vec3(0, 0, 1), Vec3(0, 0, -1), Vec3(1, 1, 1)}) {
        check_volumes(air_tree(cup.mesh, up), {});
        check_sound(air_tree(cup.mesh, up), cup.volume_mm3);
    }
}

TEST_CASE("towers askew, in closed form") {
    // The two towers turned about y: up = (sin, 0, cos). Above height c a tower of the unit square
    // holds the integral of (top - (c - s x)/k)+ where the level is the plane s x + k z = c.
    const double angle = 0.15;
    const double s = std::sin(angle);
    const double k = std::cos(angle);
    const AirTree tree = air_tree(two_towers().mesh, Vec3(s, 0, k));
    // With r = s/k the right tower (x from 2 to 3, top z = 4) parts at the left tower's inner foot,
    // the point x = 1, z = 1. There the level is z = 1 - (x - 1) r. Above it lie a wedge of the
    // plate, r/2 between x = 1 and 2, and 3 + 3r/2 from 2 to 3; it stays above the plate's bottom.
    check_volumes(tree, {3.0 + 2.0 * s / k});
    // Turned far, the right tower is the higher one: from its top x = 3, z = 4 the left tower, with
    // x = 1, z = 1 at its inner foot, holds 4 + integral over x of (x - 1) s/k = 4 - s/2k.
    const double steep = 0.6;
    const double ratio = std::tan(steep);
    check_volumes(air_tree(two_towers().mesh, Vec3(std::sin(steep), 0, std::cos(steep))),
                  {4.0 - 0.5 * ratio});
}

TEST_CASE("random cubes equal a flooded grid, for all six ways up") {
    constexpr int n = 5;
    for (std::uint32_t seed = 0; seed < 240; ++seed) {
        std::mt19937 random(seed);
        const std::uint32_t percent = 20 + 15 * (seed % 5);
        std::vector<bool> filled(n * n * n);
        for (std::size_t i = 0; i < filled.size(); ++i) {
            filled[i] = random() % 100 < percent;
        }
        const Solid solid = polycube_solid(filled, n, n, n);
        const AirTreeBuilder builder(solid.mesh);
        for (int axis = 0; axis < 3; ++axis) {
            for (const int sign : {1, -1}) {
                CAPTURE(seed);
                CAPTURE(axis);
                CAPTURE(sign);
                const AirTree tree = builder.build(sign * Vec3::Unit(axis));
                check_sound(tree, solid.volume_mm3);
                for (int layer = 0; layer < n; ++layer) {
                    const double level = (sign > 0 ? layer : layer - n) + 0.5;
                    const auto found = pieces(builder, tree, level);
                    const auto expected = grid_pieces(filled, n, axis, sign, level);
                    REQUIRE(found.size() == expected.size());
                    for (std::size_t i = 0; i < found.size(); ++i) {
                        CHECK_NEAR(found[i], expected[i], 1e-12);
                    }
                }
            }
        }
    }
}
