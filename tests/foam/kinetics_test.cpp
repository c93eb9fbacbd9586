// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/kinetics.h"

#include <string>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

TEST_CASE("E16, E17: activation energy and speed (checks.md section 4)") {
    const auto speedup = [](double activation_kj_mol, double from_c, double to_c) {
        return 1.0 /
               time_at_temperature_s(1.0, from_c, to_c, {.activation_kj_mol = activation_kj_mol});
    };
    CHECK_NEAR(speedup(52.949, 25, 35), 2.0, 1e-4);
    CHECK_NEAR(speedup(51.216, 20, 30), 2.0, 1e-4);
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

TEST_CASE("FM6, FM7: the firm foam, 30 s and 120 s (foam_model.md section 4)") {
    // The expansion is E1's: 1081.049563/128.147707.
    const RiseClock clock({.work_s = 30, .risen_s = 120, .expansion = 1081.049563 / 128.147707});
    CHECK_NEAR(std::log(clock.times().expansion), 2.1325041, 1e-7);
    CHECK_NEAR(clock.rate_per_s(), 0.051769284, 1e-7);
    CHECK_NEAR(clock.filled_by_s(0.5 / 1.15), 48.159951, 1e-6);
    CHECK_NEAR(clock.filled_by_s(1.0 / 1.15), 82.639546, 1e-6);
    CHECK_NEAR(clock.filled_by_s(0.5), 51.708043, 1e-6);
    CHECK_NEAR(clock.filled_by_s(0.5 / 1.3), 45.507370, 1e-6);
    CHECK_NEAR(clock.filled_by_s(1.0 / 1.3), 70.474161, 1e-6);
}

TEST_CASE("E12, E14: the other curves, by the same 98 %") {
    // E12 counts growth from the liquid's volume, which is nothing beside 1e12 times that.
    const RiseClock first(
        {.work_s = 20, .risen_s = 180, .expansion = 1e12, .curve = RiseCurve::first_order});
    CHECK_NEAR(first.rate_per_s(), 0.02445014, 1e-6);
    CHECK_NEAR(first.reached_s(0.5), 48.3494, 1e-6);
    CHECK_NEAR(first.reached_s(0.9), 114.1747, 1e-6);
    // E14's curve is at 0.02 at the start of the clock, so the foam rises 50 times.
    const RiseClock logistic(
        {.work_s = 1e-9, .risen_s = 180, .expansion = 50, .curve = RiseCurve::logistic});
    CHECK_NEAR(1.0 / logistic.rate_per_s(), 23.125425, 1e-7);
    CHECK_NEAR(logistic.reached_s(0.5), 90.0, 1e-7);
    CHECK_NEAR(logistic.filled_share(120), 0.7853757, 1e-7);
}

TEST_CASE("every curve starts at the liquid, passes 98 % on time, only rises, and goes both ways") {
    for (const RiseCurve curve :
         {RiseCurve::gompertz, RiseCurve::first_order, RiseCurve::logistic}) {
        for (const double expansion : {1.1, 2.0, 8.4, 30.0}) {
            const RiseClock clock(
                {.work_s = 42, .risen_s = 170, .expansion = expansion, .curve = curve});
            CHECK(clock.filled_share(0) == 1.0 / expansion);
            CHECK_NEAR(clock.filled_share(42 + 1e-9), 1.0 / expansion, 1e-9);
            CHECK_NEAR(clock.filled_share(170), 0.98, 1e-12);
            CHECK(clock.reached_s(0.5 / expansion) == 42.0);
            CHECK(clock.reached_s(1.0) > 1e300);
            CHECK(clock.filled_by_s(0.979) < 170.0);
            CHECK(clock.filled_by_s(0.98) == 170.0);
            CHECK(clock.filled_by_s(0.99) == 170.0);
            CHECK(clock.filled_by_s(7.0) == 170.0);
            double before = 1.0 / expansion;
            for (double t = 43; t < 300; t += 7) {
                const double share = clock.filled_share(t);
                CHECK(share > before);
                before = share;
                CHECK_NEAR(clock.reached_s(share), t, 1e-6);
            }
        }
        CHECK(parse_rise_curve(to_text(curve), "time.curve") == curve);
    }
    CHECK_THROWS_AS(static_cast<void>(parse_rise_curve("bell", "time.curve")), InvalidInput);
    // The Gompertz rise of E13, begun at the end of the work time.
    const GompertzRise rise(8.4, 128);
    const RiseClock clock({.work_s = 42, .risen_s = 170, .expansion = 8.4});
    CHECK_NEAR(clock.rate_per_s(), rise.c_per_s(), 1e-12);
    CHECK_NEAR(clock.filled_share(90), rise.filled_share(48), 1e-12);
}

TEST_CASE("a rise that can't be is refused by name") {
    const auto refusal = [](const RiseTimes& times) {
        return refusal_of([&] { return RiseClock(times); });
    };
    CHECK(refusal({.work_s = 30, .risen_s = 31}) == "accepted");
    for (const double risen : {30.0, 20.0, -1.0}) {
        CHECK(refusal({.work_s = 30, .risen_s = risen}).find("rise time") != std::string::npos);
    }
    for (const double expansion : {1.0, 0.5, 0.0, -2.0, 1.02}) {
        CHECK(refusal({.expansion = expansion}).find("expansion") != std::string::npos);
    }
    CHECK(refusal({.expansion = 1.03}) == "accepted");
}

TEST_CASE("E15: second order, against its closed values and its own equation") {
    CHECK_NEAR(second_order_conversion(1.0, 4.0), 0.8, 1e-9);
    CHECK_NEAR(second_order_conversion(1.05, 4.0), 0.822991867, 1e-9);
    CHECK(second_order_conversion(1.3, 0.0) == 0.0);
    // Nothing breaks where the two forms meet.
    CHECK_NEAR(second_order_conversion(1.0 + 1e-9, 4.0), 0.8, 1e-8);
    // The scarcer group is used up; the other stays.
    CHECK_NEAR(second_order_conversion(1.5, 100.0), 1.0, 1e-12);
    CHECK_NEAR(second_order_conversion(0.6, 200.0), 0.6, 1e-12);
    // dX/dz = (1 - X)(r - X) by Runge and Kutta's steps of fourth order.
    for (const double r : {0.7, 1.0, 1.05, 2.0}) {
        const auto slope = [r](double x) { return (1.0 - x) * (r - x); };
        double x = 0.0;
        const double h = 1e-3;
        for (int i = 0; i < 4000; ++i) {
            const double k1 = slope(x);
            const double k2 = slope(x + 0.5 * h * k1);
            const double k3 = slope(x + 0.5 * h * k2);
            const double k4 = slope(x + h * k3);
            x += h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
        }
        CHECK_NEAR(second_order_conversion(r, 4.0), x, 1e-11);
    }
}
