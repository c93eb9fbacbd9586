// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/fit.h"

#include <random>

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// A ball, a bell, a slab: area/volume from 0.06 to 0.5 per mm.
const double kShapes[3][2] = {{524000, 31400}, {269000, 68000}, {120000, 60000}};

Casting cast(const double (&shape)[2], double core, double skin_g_m2, double waste,
             std::mt19937* random, double scatter) {
    std::normal_distribution<double> noise(1.0, scatter);
    Casting c;
    c.volume_mm3 = shape[0];
    c.area_mm2 = shape[1];
    c.part_mass_g = (core * 1e-6 * shape[0] + skin_g_m2 * 1e-6 * shape[1]) *
                    (random != nullptr ? noise(*random) : 1.0);
    c.cup_mass_g = *c.part_mass_g / (1.0 - waste * (random != nullptr ? noise(*random) : 1.0));
    return c;
}

std::string refusal(const std::vector<Casting>& castings) {
    try {
        static_cast<void>(fit_castings(castings));
    } catch (const InvalidInput& error) {
        return error.what();
    }
    return "accepted";
}

}  // namespace

TEST_CASE("castings without scatter give back what they were made of") {
    std::vector<Casting> castings;
    for (const auto& shape : kShapes) {
        castings.push_back(cast(shape, 115, 280, 0.08, nullptr, 0));
    }
    const ShopFit fit = fit_castings(castings);
    CHECK_NEAR(fit.core_density_kg_m3.value, 115, 1e-12);
    CHECK_NEAR(fit.skin_mass_per_area_g_m2.value, 280, 1e-12);
    CHECK_NEAR(fit.waste_share.value, 0.08, 1e-12);
    CHECK(fit.scatter_percent < 1e-10);
    CHECK(fit.castings == 3);
}

TEST_CASE("the stated confidence holds: 95 of 100, at least 90 of 100 seeded shops") {
    int core_held = 0;
    int skin_held = 0;
    int waste_held = 0;
    for (unsigned seed = 1; seed <= 100; ++seed) {
        std::mt19937 random(seed);
        std::vector<Casting> castings;
        for (int i = 0; i < 9; ++i) {
            castings.push_back(cast(kShapes[i % 3], 115, 280, 0.08, &random, 0.03));
        }
        const ShopFit fit = fit_castings(castings);
        core_held +=
            std::abs(fit.core_density_kg_m3.value - 115) <= fit.core_density_kg_m3.plus_minus ? 1
                                                                                              : 0;
        skin_held += std::abs(fit.skin_mass_per_area_g_m2.value - 280) <=
                             fit.skin_mass_per_area_g_m2.plus_minus
                         ? 1
                         : 0;
        waste_held += std::abs(fit.waste_share.value - 0.08) <= fit.waste_share.plus_minus ? 1 : 0;
    }
    CHECK(core_held >= 90);
    CHECK(skin_held >= 90);
    CHECK(waste_held >= 90);
    // An interval that always held would be too wide to be of use.
    CHECK(core_held + skin_held + waste_held < 300);
}

TEST_CASE("one shape only can't tell skin from core, and what to cast next is said") {
    std::vector<Casting> slabs;
    std::vector<Casting> balls;
    for (int i = 0; i < 5; ++i) {
        slabs.push_back(cast(kShapes[2], 115, 280, 0.08, nullptr, 0));
        balls.push_back(cast(kShapes[0], 115, 280, 0.08, nullptr, 0));
    }
    CHECK(refusal(slabs).find("thicker") != std::string::npos);
    CHECK(refusal(balls).find("thinner") != std::string::npos);
    CHECK(refusal({slabs[0], balls[0]}).find("only 2 weighed castings") != std::string::npos);
}
