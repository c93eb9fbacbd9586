// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/pressure.h"

#include <cmath>

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("E4, E5: pressure by packing factor, all gas kept (checks.md section 4)") {
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

TEST_CASE("FM9: free rise in thinner air (foam_model.md 3; ISO 2533)") {
    constexpr double kLbFt3 = 16.018463374;  // checks.md U1
    // ISO 2533 tabulates 95.461, 89.875 and 79.495 kPa at geopotential altitudes of 500, 1,000 and
    // 2,000 m (from memory).
    CHECK_NEAR(air_pressure_kpa(0), 101.325, 1e-12);
    CHECK_NEAR(air_pressure_kpa(500), 95.461, 2e-5);
    CHECK_NEAR(air_pressure_kpa(1000), 89.875, 2e-5);
    CHECK_NEAR(air_pressure_kpa(2000), 79.495, 2e-5);
    const auto at = [&](double lb_ft3, double altitude_m) {
        return free_rise_in_air_kg_m3(lb_ft3 * kLbFt3, kAtmosphere_kpa,
                                      air_pressure_kpa(altitude_m)) /
               kLbFt3;
    };
    CHECK_NEAR(at(8, 500), 7.588163, 1e-6);
    CHECK_NEAR(at(8, 1000), 7.190609, 1e-6);
    CHECK_NEAR(at(8, 1600), 6.732296, 1e-6);
    CHECK_NEAR(at(8, 2250), 6.258681, 1e-6);
    CHECK_NEAR(at(13, 1600), 11.084739, 1e-6);
    // There and back.
    CHECK_NEAR(free_rise_in_air_kg_m3(free_rise_in_air_kg_m3(130, 101.325, 84), 84, 101.325), 130,
               1e-12);
    for (const double nowhere : {20000.0, -1000.0, std::nan("")}) {
        CHECK_THROWS_AS(static_cast<void>(air_pressure_kpa(nowhere)), InvalidInput);
    }
}

TEST_CASE("FM8: what the foam presses with at a packing, and the way back (foam_model.md 3)") {
    constexpr double kFirm = 8 * 16.018463374;
    CHECK_NEAR(gas_pressure_kpa(kFirm, 1.15 * kFirm), 17.549964, 1e-7);
    CHECK_NEAR(gas_pressure_kpa(kFirm, 1.3 * kFirm), 35.822760, 1e-7);
    constexpr double kTen = 10 * 16.018463374;
    CHECK_NEAR(gas_pressure_kpa(kTen, 1.1 * kTen), 12.065152, 1e-7);
    for (const double kpa : {0.0, 5.0, 30.0, 200.0}) {
        for (const double air : {101.325, 83.5}) {
            const double held = density_at_pressure_kg_m3(kFirm, kpa, air);
            CHECK(std::abs(gas_pressure_kpa(kFirm, held, kPolymer_kg_m3, air) - kpa) < 1e-9);
        }
    }
}

TEST_CASE("E8: a strap over a round two-part shell carries pressure times diameter times pitch") {
    // T = p D s / 2 with p = 20 kPa, D = 100 mm, s = 80 mm: 80 N. As a force on the projected strip
    // of one pitch, held by the two legs of its loop.
    CHECK_NEAR(strap_leg_load_n(opening_force_n(20, 100 * 80), 1, 1.0), 80.0, 1e-12);
}

TEST_CASE("E9: a hemisphere opens by its disc, not by its surface") {
    // Projected area of R = 50 mm: pi R^2; 157.0796 N at 20 kPa. Twice that is the classic mistake.
    CHECK_NEAR(opening_force_n(20, 3.14159265358979 * 50 * 50), 157.0796, 1e-6);
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
