// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/pressure.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("E4, E5: the upper bound by packing factor (checks.md section 4)") {
    const double factor[7] = {1.0, 1.05, 1.1, 1.2, 1.3, 1.5, 2.0};
    const double light[7] = {0, 5.7723, 11.6218, 23.5584, 35.8228, 61.3903, 132.1049};
    const double heavy[7] = {0, 6.3231, 12.7974, 26.2218, 40.3204, 70.7541, 163.0640};
    double before = -1.0;
    for (int i = 0; i < 7; ++i) {
        CHECK(std::abs(gas_pressure_kpa(128.1477, factor[i] * 128.1477) - light[i]) < 1e-4);
        CHECK(std::abs(gas_pressure_kpa(208.24, factor[i] * 208.24) - heavy[i]) < 1e-4);
        // More than the simple rule p0 (PF - 1), and growing.
        CHECK(gas_pressure_kpa(128.1477, factor[i] * 128.1477) >=
              kAtmosphere_kpa * (factor[i] - 1) - 1e-9);
        CHECK(gas_pressure_kpa(128.1477, factor[i] * 128.1477) > before);
        before = gas_pressure_kpa(128.1477, factor[i] * 128.1477);
    }
    CHECK(gas_pressure_kpa(128.1477, 100) == 0.0);  // a short shot has no pressure
}

TEST_CASE("E6: air sealed in") {
    CHECK_NEAR(sealed_foam(1e6, 150, 128.1477, 0).gauge_kpa, 20.00654, 1e-6);
    const SealedFoam pocket = sealed_foam(1e6, 150, 128.1477, 20000);
    CHECK_NEAR(pocket.gauge_kpa, 22.35302, 1e-6);
    CHECK_NEAR(pocket.pocket_mm3, 16385.29, 1e-6);
}

TEST_CASE("E7: force and straps") {
    CHECK_NEAR(opening_force_n(20, 300 * 200), 1200.0, 1e-12);
    CHECK_NEAR(strap_leg_load_n(1200, 3, 1), 200.0, 1e-12);
    CHECK_NEAR(strap_leg_load_n(1200, 3) / 9.80665, 61.183, 1e-5);
}

TEST_CASE("E10, E11: gas from water") {
    CHECK_NEAR(carbon_dioxide_ml(1, 25), 1358.036, 1e-6);
    CHECK_NEAR(carbon_dioxide_ml(1, 100), 1699.652, 1e-6);
    CHECK_NEAR(water_blown_density_kg_m3(0.01, 1, 100), 55.848, 1e-5);
    CHECK_NEAR(water_blown_density_kg_m3(0.01, 0.7, 100), 78.084, 1e-5);
    CHECK_NEAR(water_blown_density_kg_m3(0.005, 0.7, 100), 145.818, 1e-5);
}
