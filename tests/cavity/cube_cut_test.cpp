// SPDX-License-Identifier: GPL-3.0-or-later
#include <random>

#include "cavigram/cavity/cube_cut_detail.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("the share of a cube above a plane is what counting small cubes gives") {
    std::mt19937 random(17);  // fixed seed
    std::uniform_real_distribution<double> slope(-1.0, 1.0);
    constexpr int kSide = 60;
    for (int round = 0; round < 60; ++round) {
        Vec3 gradient(slope(random), slope(random), slope(random));
        if (round % 4 == 1) gradient[round / 4 % 3] = 0.0;
        if (round % 4 == 2) gradient = Vec3::Unit(round / 4 % 3) * (round % 8 == 2 ? 1.0 : -1.0);
        if (round % 12 == 3) gradient[0] = gradient[1] = gradient[2];
        const detail::CubeCut cut(gradient);
        const double value = 0.3;
        const double level = value + cut.reach() * slope(random);
        int above = 0;
        for (int x = 0; x < kSide; ++x) {
            for (int y = 0; y < kSide; ++y) {
                for (int z = 0; z < kSide; ++z) {
                    const Vec3 p = Vec3(x + 0.5, y + 0.5, z + 0.5) / kSide - Vec3::Constant(0.5);
                    above += value + gradient.dot(p) > level ? 1 : 0;
                }
            }
        }
        // Small cubes on the plane are counted whole or not at all; along an axis that is a whole
        // layer.
        CHECK(std::abs(cut.above(value, level) -
                       static_cast<double>(above) / (kSide * kSide * kSide)) < 0.5 / kSide + 1e-9);
        // Exact: turned over, the two shares make the whole.
        CHECK(std::abs(cut.above(value, level) + detail::CubeCut(-gradient).above(-value, -level) -
                       1.0) < 1e-12);
    }
}

TEST_CASE("shares of cuts that can be worked out by hand") {
    // Through the middle; the corner tetrahedron of edge 1/2; a slab; nothing and all.
    CHECK_NEAR(detail::CubeCut(Vec3(1, 2, 3)).above(0.0, 0.0), 0.5, 1e-15);
    CHECK_NEAR(detail::CubeCut(Vec3(1, 1, 1)).above(0.0, 1.0), 1.0 / 48.0, 1e-9);
    CHECK_NEAR(detail::CubeCut(Vec3(0, 0, 2)).above(0.0, 0.5), 0.25, 1e-5);
    CHECK(detail::CubeCut(Vec3(1, 1, 1)).above(0.0, 1.5) == 0.0);
    CHECK(detail::CubeCut(Vec3(1, 1, 1)).above(0.0, -1.5) == 1.0);
    CHECK(detail::CubeCut(Vec3::Zero()).above(1.0, 0.5) == 1.0);
}
