// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/vent_flow.h"

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

// Expected values: docs/checks.md Q1 to Q4 and V1 to V4, with their tolerances;
// equations of the orifice, Hagen-Poiseuille and Sampson flow, combined [D].

namespace {

constexpr Hole kSpout{10, 20};
constexpr Fluid kResin{1080, 1.0};
constexpr Fluid kWater{1000, 1e-3};

}  // namespace

TEST_CASE("Q1, Q4: a bare hole is right for water and wrong for resin") {
    const double resin = orifice_flow_ml_s(kSpout, kResin, column_pressure_kpa(1080, 50));
    CHECK_NEAR(resin, 47.443864, 1e-7);
    CHECK_NEAR(reynolds(kSpout, kResin, resin), 6.5, 0.01);
    const double water = orifice_flow_ml_s(kSpout, kWater, column_pressure_kpa(1000, 50));
    CHECK_NEAR(water, 47.443864, 1e-4);
    CHECK_NEAR(reynolds(kSpout, kWater, water), 6018, 0.01);
}

TEST_CASE("Q2, Q3: resin through a spout, and how long 150 g take") {
    const double drop = column_pressure_kpa(1080, 70);
    CHECK_NEAR(laminar_flow_ml_s(kSpout, kResin, drop), 9.098135, 1e-6);
    CHECK_NEAR(laminar_flow_ml_s(kSpout, kResin, drop, EndLoss::creeping), 7.028169, 1e-6);
    const double flow = hole_flow_ml_s(kSpout, kResin, drop);
    CHECK_NEAR(flow, 6.921329, 1e-6);
    CHECK_NEAR(reynolds(kSpout, kResin, flow), 0.952, 1e-3);
    CHECK_NEAR(pour_flow_ml_s(kSpout, kResin, 50), flow, 1e-14);
    CHECK_NEAR(150.0 / 1.080 / flow, 20.067, 1e-3);
}

TEST_CASE("V1 to V4: air through vents") {
    const Hole alone{1, 20};
    // The two limits: alone, each loss gives its own diameter.
    const auto diameter = [](double flow, double drop_kpa) {
        return hole_diameter_mm(flow, 20, kAir, drop_kpa);
    };
    CHECK_NEAR(diameter(30, 0.1), 2.300933, 1e-6);
    CHECK_NEAR(orifice_flow_ml_s({2.204194, 20}, kAir, 0.1), 30.0, 1e-6);
    CHECK_NEAR(laminar_flow_ml_s({1.450349, 20}, kAir, 0.1), 30.0, 1e-6);
    CHECK_NEAR(reynolds({diameter(30, 0.1), 20}, kAir, 30), 1104, 1e-3);
    CHECK_NEAR(diameter(30, 1.0), 1.293910, 1e-6);
    CHECK_NEAR(hole_drop_kpa(alone, kAir, 30, EndLoss::none), 2.802952, 1e-5);
    CHECK_NEAR(hole_drop_kpa({3, 20}, kAir, 30, EndLoss::none), 0.034604347, 1e-5);
    CHECK_NEAR(diameter(10, 0.1), 1.422769, 1e-6);
}

TEST_CASE("U7: a kilogram-force is what a kilogram presses with") {
    // 1 m of 1000 kg/m3 on 1 m2: 1000 kgf, 9806.65 N.
    CHECK_NEAR(column_pressure_kpa(1000, 1000), 9.80665, 1e-15);
}

TEST_CASE("flow and drop are inverse, and flow grows with drop and diameter") {
    for (const Fluid& fluid : {kAir, kWater, kResin}) {
        for (const EndLoss ends : {EndLoss::none, EndLoss::creeping}) {
            double last = 0.0;
            for (const double d : {0.5, 1.0, 3.0, 12.0}) {
                const Hole hole{d, 15};
                const double flow = hole_flow_ml_s(hole, fluid, 0.3, ends);
                CHECK_NEAR(hole_drop_kpa(hole, fluid, flow, ends), 0.3, 1e-13);
                CHECK_NEAR(hole_diameter_mm(flow, 15, fluid, 0.3, ends), d, 1e-12);
                CHECK(flow > last);
                CHECK(flow < orifice_flow_ml_s(hole, fluid, 0.3));
                CHECK(flow < laminar_flow_ml_s(hole, fluid, 0.3, ends));
                last = flow;
            }
        }
    }
}

TEST_CASE("vents are drilled to the next size up, and no thinner than the least") {
    VentSizeOptions options;
    options.growth_ml_s = 30;
    const VentSize one = vent_size(1, options);
    CHECK_NEAR(one.diameter_mm, 2.300933, 1e-6);
    CHECK(one.drill_mm == 2.5);
    CHECK(one.drop_kpa < 0.1);
    const VentSize three = vent_size(3, options);
    CHECK_NEAR(three.diameter_mm, 1.422769, 1e-6);
    CHECK(three.drill_mm == 2.0);
    CHECK_NEAR(three.alone_mm, 2.300933, 1e-6);
    CHECK(three.flow_ml_s == 10.0);
    CHECK_THROWS_AS(static_cast<void>(vent_size(0, options)), InvalidInput);
    options.drop_kpa = 0.0;
    CHECK_THROWS_AS(static_cast<void>(vent_size(1, options)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(vent_size(1, {})), InvalidInput);
}
