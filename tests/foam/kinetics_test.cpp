// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/kinetics.h"

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("E16, E17: activation energy and speed (checks.md section 4)") {
    CHECK_NEAR(activation_for_speedup_kj_mol(25, 35, 2), 52.949, 1e-4);
    CHECK_NEAR(activation_for_speedup_kj_mol(20, 30, 2), 51.216, 1e-4);
    CHECK_NEAR(speedup(32.66, 20, 30), 1.5558, 1e-4);
    CHECK_NEAR(speedup(40.4, 20, 30), 1.7277, 1e-4);
    CHECK_NEAR(speedup(50, 20, 30), 1.9674, 1e-4);
}

TEST_CASE("E18, E19: 30 s at 23 C, elsewhere") {
    const double rule[4][2] = {{15, 52.233}, {18, 42.426}, {28, 21.213}, {33, 15.000}};
    for (const auto& row : rule) {
        CHECK_NEAR(time_at_temperature_s(30, 23, row[0]), row[1], 1e-4);
    }
    const double law[4][2] = {{15, 54.470}, {18, 43.386}, {28, 21.000}, {33, 14.872}};
    for (const auto& row : law) {
        CHECK_NEAR(time_at_temperature_s(30, 23, row[0], {.activation_kj_mol = 52.9}), row[1],
                   1e-4);
    }
    CHECK_NEAR(time_at_temperature_s(30, 23, 15, {.activation_kj_mol = 40.4}), 47.310, 1e-4);
}

TEST_CASE("warmer never lengthens; too far is refused; two points give their own rule") {
    double before = 1e9;
    for (double t = 8; t <= 38; t += 1) {
        for (const TemperatureRule& rule :
             {TemperatureRule{}, TemperatureRule{.activation_kj_mol = 45.0}}) {
            CHECK(time_at_temperature_s(30, 23, t, rule) > 0);
        }
        const double now = time_at_temperature_s(30, 23, t);
        CHECK(now < before);
        before = now;
    }
    CHECK_THROWS_AS(static_cast<void>(time_at_temperature_s(30, 23, 39)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(time_at_temperature_s(30, 23, 7)), InvalidInput);
    const TemperatureRule own = rule_through(30, 23, 48, 15);
    CHECK_NEAR(time_at_temperature_s(30, 23, 15, own), 48.0, 1e-12);
    CHECK_THROWS_AS(static_cast<void>(rule_through(30, 23, 20, 15)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(rule_through(30, 23, 40, 23)), InvalidInput);
}

TEST_CASE("E13: a Gompertz rise of 8.436 times, 98 % at 180 s") {
    const GompertzRise rise(8.435965, 180);
    CHECK_NEAR(rise.b(), 2.13250416, 1e-7);
    CHECK_NEAR(rise.c_per_s(), 0.025884642, 1e-7);
    CHECK_NEAR(rise.steepest_s(), 29.25661, 1e-6);
    CHECK_NEAR(rise.filled_share(rise.steepest_s()), 1 / std::exp(1.0), 1e-12);
    CHECK_NEAR(rise.filled_share(90), 0.81256213, 1e-7);
    CHECK_NEAR(rise.growth_per_s(0), 0.055199107, 1e-7);
    CHECK_NEAR(rise.growth_per_s(90), 0.005372691, 1e-6);
    CHECK_NEAR(rise.filled_share(0), 1 / 8.435965, 1e-12);
    // The steepest is where the difference quotient is largest.
    double most = 0.0;
    for (double t = 0; t < 180; t += 0.01) {
        most = std::max(most, (rise.filled_share(t + 0.01) - rise.filled_share(t)) / 0.01);
    }
    CHECK_NEAR(rise.steepest_share_per_s(), most, 1e-6);
}
