// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/fit.h"

#include <array>
#include <limits>
#include <numbers>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

// A ball, a bell, a slab: volume and skin area, of 0.06 to 0.5 per mm.
constexpr double kShapes[3][2] = {{524000, 31400}, {269000, 68000}, {120000, 60000}};

// What the fit itself assumes, without scatter.
Casting cast(const double (&shape)[2], double core, double skin_g_m2, double film_at_100_g) {
    Casting c;
    c.number = 1;
    c.foam = "ours";
    c.mix = "50:100";
    c.verdict = "good";
    c.volume_mm3 = shape[0];
    c.area_mm2 = 1.1 * shape[1];
    c.skin_reference_mm = 1.0;
    c.skin_volume_mm3 = shape[1];
    c.part_mass_g = core * 1e-6 * shape[0] + skin_g_m2 * 1e-6 * shape[1];
    // The cup that leaves just this part: m = part + film (m/100)^(2/3).
    double cup = *c.part_mass_g;
    for (int i = 0; i < 200; ++i) {
        cup = *c.part_mass_g + film_at_100_g * std::cbrt(cup / 100.0) * std::cbrt(cup / 100.0);
    }
    c.cup_mass_g = cup;
    return c;
}

std::vector<Casting> three_shapes() {
    std::vector<Casting> castings;
    for (const auto& shape : kShapes) {
        castings.push_back(cast(shape, 115, 280, 5.0));
        castings.back().number = static_cast<std::int64_t>(castings.size());
    }
    return castings;
}

// One shape that scatters: 40, 41, 42, 43, 44 g and a little, so that no scale's step shows.
std::vector<Casting> one_shape() {
    std::vector<Casting> castings;
    for (int i = 0; i < 5; ++i) {
        castings.push_back(cast(kShapes[1], 115, 280, 5.0));
        castings.back().part_mass_g = 40.0 + i + 0.00317;
    }
    return castings;
}

std::string refusal(const std::vector<Casting>& castings) {
    return refusal_of([&] { return fit_castings(castings); });
}

}  // namespace

TEST_CASE("castings without scatter give back what they were made of") {
    const std::vector<Casting> castings = three_shapes();
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.foam == "ours");
    CHECK(fit.castings == 3);
    CHECK(fit.by_area == 0);
    REQUIRE(fit.core_density_kg_m3);
    CHECK_NEAR(fit.core_density_kg_m3->value, 115, 1e-12);
    CHECK_NEAR(fit.skin_mass_per_area_g_m2->value, 280, 1e-12);
    CHECK(fit.line->scatter_percent < 1e-10);
    // Waste as a film: three cups of different size, one constant.
    CHECK(fit.waste_castings == 3);
    CHECK_NEAR(fit.film_at_100_g.value, 5.0, 1e-9);
    CHECK(fit.film_at_100_g.plus_minus < 1e-9);
    CHECK(fit.waste_share.plus_minus > 1e-3);  // which a share is not
    const Estimate next = predicted_mass_g(fit, 200000, 40000);
    CHECK_NEAR(next.value, 115 * 0.2 + 280 * 0.04, 1e-12);
}

TEST_CASE("line, standard errors and residual: certified values of an authority") {
    // NIST Statistical Reference Datasets, linear regression, Norris (36 observations), certified:
    // intercept -0.262323073774029 with standard deviation 0.232818234301152, slope
    // 1.00211681802045 with 0.429796848199937e-3, residual standard deviation 0.884796396144373.
    constexpr double x[36] = {0.2,   337.4, 118.2, 884.6, 10.1,  226.5, 666.3, 996.3, 448.6,
                              777.0, 558.2, 0.4,   0.6,   775.5, 666.9, 338.0, 447.5, 11.6,
                              556.0, 228.1, 995.8, 887.6, 120.2, 0.3,   0.3,   556.8, 339.1,
                              887.2, 999.0, 779.0, 11.1,  118.3, 229.2, 669.1, 448.9, 0.5};
    constexpr double y[36] = {0.1,   338.8, 118.1, 888.0, 9.2,   228.1, 668.5, 998.5, 449.1,
                              778.9, 559.2, 0.3,   0.1,   778.1, 668.8, 339.3, 448.9, 10.8,
                              557.7, 228.3, 998.0, 888.8, 119.6, 0.3,   0.6,   557.6, 339.3,
                              888.0, 998.5, 778.9, 10.2,  117.6, 228.9, 668.4, 449.2, 0.2};
    // A volume by which no mass is a multiple of a scale's step.
    const double volume_mm3 = 1e5 * std::numbers::pi;
    std::vector<Casting> castings;
    for (int i = 0; i < 36; ++i) {
        Casting c = cast(kShapes[0], 100, 100, 1.0);
        c.volume_mm3 = volume_mm3;
        c.skin_volume_mm3 = 1e-3 * x[i] * volume_mm3;
        c.part_mass_g = 1e-6 * y[i] * volume_mm3;
        castings.push_back(c);
    }
    const ShopFit fit = fit_castings(castings);
    REQUIRE(fit.line);
    REQUIRE(fit.line->slope_kg_m2);
    CHECK(fit.scale_step_g == 0.0);
    CHECK(fit.line->degrees == 34);
    CHECK_NEAR(*fit.line->slope_kg_m2, 1.00211681802045, 1e-12);
    CHECK_NEAR(fit.core_density_kg_m3->value, -0.262323073774029, 1e-10);
    CHECK_NEAR(fit.line->sigma_kg_m3, 0.884796396144373, 1e-11);
    CHECK_NEAR(std::sqrt(fit.line->slope_variance), 0.429796848199937e-3, 1e-11);
    // Student's t for 34 degrees of freedom at 97.5 %: 2.032 (NIST/SEMATECH e-Handbook of
    // Statistical Methods, table 1.3.6.7.2).
    CHECK_NEAR(fit.core_density_kg_m3->plus_minus / 0.232818234301152, 2.032, 3e-4);
    // The prediction interval t s sqrt(1 + 1/n + (x - mean)^2/Sxx), foam_model.md section 6, with
    // Sxx from the certified deviations.
    double mean = 0.0;
    for (const double value : x) {
        mean += value / 36.0;
    }
    const double sxx = std::pow(0.884796396144373 / 0.429796848199937e-3, 2);
    const double half =
        2.032 * 0.884796396144373 * std::sqrt(1.0 + 1.0 / 36.0 + std::pow(1200.0 - mean, 2) / sxx);
    const Estimate next = predicted_mass_g(fit, volume_mm3, 1.2 * volume_mm3);
    CHECK_NEAR(next.plus_minus, 1e-6 * half * volume_mm3, 3e-4);
    CHECK_NEAR(next.value, 1e-6 * (-0.262323073774029 + 1200 * 1.00211681802045) * volume_mm3,
               1e-12);
}

TEST_CASE("one shape: a mean with its prediction interval, wider for other shapes, no skin") {
    const ShopFit fit = fit_castings(one_shape());
    REQUIRE(fit.line);
    CHECK_FALSE(fit.line->slope_kg_m2);
    CHECK_FALSE(fit.core_density_kg_m3);
    CHECK_FALSE(fit.skin_mass_per_area_g_m2);
    CHECK(fit.line->degrees == 4);
    const Estimate same = predicted_mass_g(fit, kShapes[1][0], kShapes[1][1]);
    CHECK_NEAR(same.value, 42.00317, 1e-12);
    // 40 to 44 have the variance 2.5; t for 4 degrees of freedom is 2.776 (NIST/SEMATECH table
    // 1.3.6.7.2).
    CHECK_NEAR(same.plus_minus, 2.776 * std::sqrt(2.5 * 1.2), 2e-4);
    // A part without any skin has between nothing and all of the mean density: the interval holds
    // both ends.
    const Estimate core = predicted_mass_g(fit, kShapes[1][0], 0.0);
    CHECK(core.value - core.plus_minus < 0.0);
    CHECK(core.value + core.plus_minus > 42.0);
    // And one of twice the skin area holds both "as dense" and "twice as dense".
    const Estimate thin = predicted_mass_g(fit, kShapes[1][0], 2.0 * kShapes[1][1]);
    CHECK(thin.value - thin.plus_minus < 42.0);
    CHECK(thin.value + thin.plus_minus > 84.0);
}

TEST_CASE("too few castings are refused with what to weigh; other figures are given without") {
    const std::vector<Casting> all = three_shapes();
    Casting bare = all[0];
    bare.cup_mass_g.reset();
    CHECK(refusal({bare}).find("only 1 good casting of") != std::string::npos);
    CHECK(refusal({}).find("no good casting of") != std::string::npos);
    const ShopFit fit = fit_castings({all[0], all[2]});  // two shapes: cups, but no line
    CHECK_FALSE(fit.line);
    CHECK(fit.waste_castings == 2);
    CHECK_THROWS_AS(static_cast<void>(predicted_mass_g(fit, 1e5, 1e4)), InvalidInput);
}

TEST_CASE("flash counts as mass in the mold; lost, short and unknown castings stay out") {
    std::vector<Casting> castings = three_shapes();
    castings[1].flash_mass_g = 6.0;
    *castings[1].part_mass_g -= 6.0;
    castings[1].verdict = "flashed";
    for (const char* verdict : {"short", "lost", "flaw"}) {
        Casting c = castings[0];
        *c.part_mass_g *= 0.5;
        c.cup_mass_g.reset();
        c.verdict = verdict;
        c.number = 7;
        castings.push_back(c);
    }
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.castings == 3);
    CHECK(fit.shorts == 1);
    CHECK(fit.lost == 1);
    CHECK(fit.other_verdicts == 1);
    CHECK_NEAR(fit.core_density_kg_m3->value, 115, 1e-12);
    CHECK_NEAR(fit.skin_mass_per_area_g_m2->value, 280, 1e-12);
    CHECK(fit.flash_castings == 1);
    CHECK_NEAR(fit.flash_share.value, 6.0 / *castings[1].part_mass_g, 1e-12);
    CHECK(std::isinf(fit.flash_share.plus_minus));
    CHECK(fit.waste_castings == 3);
    REQUIRE(fit.heaviest_short);
    CHECK(fit.heaviest_short->number == 7);
    CHECK_NEAR(fit.heaviest_short->share_of_predicted, 0.5, 1e-12);
    CHECK(fit.lighter_than_short.empty());
}

TEST_CASE("a good casting lighter than a short one is a contradiction, and named") {
    std::vector<Casting> castings = one_shape();
    for (std::size_t i = 0; i < castings.size(); ++i) {
        castings[i].number = static_cast<std::int64_t>(i) + 1;
    }
    castings.push_back(castings.front());
    castings.back().number = 6;
    castings.back().verdict = "short";
    castings.back().part_mass_g = 41.5;
    const ShopFit fit = fit_castings(castings);
    REQUIRE(fit.heaviest_short);
    CHECK_NEAR(fit.heaviest_short->share_of_predicted, 41.5 / 42.00317, 1e-12);
    CHECK(fit.lighter_than_short == std::vector<std::int64_t>{1, 2});
}

TEST_CASE("a casting of an older log that is heavier than polymer stays out, by number") {
    std::vector<Casting> castings = three_shapes();
    castings.push_back(castings[2]);
    castings.back().number = 9;
    castings.back().part_mass_g = 133.0;  // of 120 mL
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.impossible == std::vector<std::int64_t>{9});
    CHECK_NEAR(fit.core_density_kg_m3->value, 115, 1e-12);
}

TEST_CASE("castings without a size stay out, by number, and all of them leave nothing to fit") {
    std::vector<Casting> castings = three_shapes();
    castings.push_back(castings[2]);
    castings.back().number = 9;
    castings.back().volume_mm3 = std::numeric_limits<double>::infinity();
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.impossible == std::vector<std::int64_t>{9});
    CHECK_NEAR(fit.core_density_kg_m3->value, 115, 1e-12);
    for (Casting& c : castings) {
        c.volume_mm3 = std::numeric_limits<double>::infinity();
    }
    CHECK_THROWS_AS(static_cast<void>(fit_castings(castings)), InvalidInput);
}

TEST_CASE("castings of an older log fall back to their area, and are counted") {
    std::vector<Casting> castings = three_shapes();
    for (Casting& c : castings) {
        c.skin_volume_mm3.reset();
        c.skin_reference_mm.reset();
    }
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.by_area == 3);
    CHECK_NEAR(fit.skin_mass_per_area_g_m2->value, 280 / 1.1, 1e-12);
}

TEST_CASE("freely risen cups: mean, its interval, and one more cup's") {
    std::vector<Casting> castings = three_shapes();
    const double densities[3] = {126.0, 128.0, 130.0};
    for (std::size_t i = 0; i < 3; ++i) {
        castings[i].free_rise_volume_ml = 50.0;
        castings[i].free_rise_mass_g = 0.05 * densities[i];
    }
    castings[2].verdict = "lost";  // the cup does not know
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.free_rise_cups == 3);
    // Standard deviation 2; t for 2 degrees of freedom is 4.303 (NIST/SEMATECH table 1.3.6.7.2).
    CHECK_NEAR(fit.free_rise_kg_m3->value, 128.0, 1e-12);
    // 6.3, 6.4 and 6.5 g are steps of 0.1 g, 2 kg/m3 in 50 mL, of which half does not average out.
    CHECK_NEAR(fit.free_rise_kg_m3->plus_minus, std::hypot(4.303 * 2.0 / std::sqrt(3.0), 1.0),
               2e-4);
    CHECK_NEAR(fit.free_rise_next_plus_minus_kg_m3,
               std::hypot(4.303 * 2.0 * std::sqrt(4.0 / 3.0), 1.0), 2e-4);

    castings = three_shapes();
    castings[0].free_rise_volume_ml = 50.0;
    castings[0].free_rise_mass_g = 7.0;
    const ShopFit one = fit_castings(castings);
    CHECK(one.free_rise_cups == 1);
    CHECK(std::isinf(one.free_rise_kg_m3->plus_minus));
    CHECK_FALSE(one.core_below_free_rise);  // of one cup's spread nothing is known
    castings[1].free_rise_volume_ml = castings[2].free_rise_volume_ml = 50.0;
    castings[1].free_rise_mass_g = castings[2].free_rise_mass_g = 7.01;
    CHECK(fit_castings(castings).core_below_free_rise);  // 140 kg/m3, and a core of 115
    // Three times 6 g on a gram scale: 120 kg/m3 to 10, not to nothing.
    for (Casting& c : castings) {
        c.free_rise_mass_g = 6.0;
    }
    CHECK_NEAR(fit_castings(castings).free_rise_kg_m3->plus_minus, 10.0, 1e-12);
    CHECK_FALSE(fit_castings(castings).core_below_free_rise);
}

TEST_CASE("what stayed in the cups: weighed, else the rest of a filled mold's cup") {
    std::vector<Casting> castings(3, cast(kShapes[0], 115, 280, 5.0));
    castings[0].cup_mass_g = 100.0;
    castings[0].part_mass_g = 70.0;
    castings[0].flash_mass_g = 5.0;
    castings[0].free_rise_mass_g = 19.0;  // risen in the cup, so not film
    castings[0].free_rise_volume_ml = 150.0;
    castings[1].cup_mass_g = 800.0;
    castings[1].verdict = "lost";
    castings[1].stayed_mass_g = 20.0;
    castings[2].cup_mass_g = 100.0;
    castings[2].verdict = "short";  // what ran out is not seen
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.waste_castings == 2);
    // 6 g of 100 g; 20 g of 800 g, whose wall is 8^(2/3) = 4 times that of 100 g.
    CHECK_NEAR(fit.film_at_100_g.value, 0.5 * (6.0 + 5.0), 1e-12);
    CHECK_NEAR(fit.waste_share.value, 0.5 * (0.06 + 0.025), 1e-12);
}

TEST_CASE("castings from one mold; a mold that is not there is refused with those that are") {
    std::vector<Casting> castings(3);
    CHECK_THROWS_WITH_AS(static_cast<void>(castings_from_mold(castings, "oak")),
                         doctest::Contains("names no molds"), InvalidInput);
    castings[0].mold = castings[2].mold = "oak";
    castings[1].mold = "elm";
    CHECK(castings_from_mold(castings, "oak").size() == 2);
    CHECK(castings_from_mold(castings, "").size() == 3);
    CHECK(castings_from_mold({}, "oak").empty());
    CHECK_THROWS_WITH_AS(static_cast<void>(castings_from_mold(castings, "ash")),
                         doctest::Contains("only from elm, oak"), InvalidInput);
}

TEST_CASE("foams and mixes are never pooled; mixes are ratios") {
    std::vector<Casting> castings = three_shapes();
    castings[1].mix = "25:50";
    CHECK(by_foam_and_mix(castings).size() == 1);
    CHECK(castings_of(castings, "ours", "100:200").size() == 3);
    castings[2].mix = "30:100";
    castings.push_back(castings[0]);
    castings.back().foam = "theirs";
    CHECK(by_foam_and_mix(castings).size() == 3);
    const std::string why = refusal(castings);
    CHECK(why.find("ours 50:100 (2), ours 30:100 (1), theirs 50:100 (1)") != std::string::npos);
    CHECK(castings_of(castings, "ours", "").size() == 3);
    CHECK(castings_of(castings, "", "50:100").size() == 3);
    CHECK_THROWS_WITH_AS(static_cast<void>(castings_of(castings, "other", "")),
                         doctest::Contains("theirs 50:100 (1)"), InvalidInput);
    CHECK_THROWS_WITH_AS(static_cast<void>(castings_of({}, "", "")), doctest::Contains("empty"),
                         InvalidInput);
}

TEST_CASE("a coarse scale: sigma is what its rounding does not explain (Paule & Mandel)") {
    // Small and large parts on a gram scale; the defining equation, formed here anew: the sum of
    // squares, each over sigma^2 + its rounding, is the number of degrees of freedom.
    std::vector<Casting> castings;
    const double grams[6] = {33.0, 74.0, 29.0, 77.0, 31.0, 70.0};
    for (int i = 0; i < 6; ++i) {
        Casting c = cast(kShapes[i % 2 == 0 ? 2 : 0], 115, 280, 5.0);
        c.part_mass_g = grams[i];
        castings.push_back(c);
    }
    const ShopFit fit = fit_castings(castings);
    CHECK(fit.scale_step_g == 1.0);
    REQUIRE(fit.line->sigma_kg_m3 > 0.0);
    double sum = 0.0;
    for (const Casting& c : castings) {
        const double fitted = fit.line->mean_kg_m3 +
                              *fit.line->slope_kg_m2 * (1e3 * *c.skin_volume_mm3 / c.volume_mm3 -
                                                        fit.line->x_mean_per_m);
        const double rounding = std::pow(1e6 / c.volume_mm3, 2) / 12.0;
        sum += std::pow(1e6 * *c.part_mass_g / c.volume_mm3 - fitted, 2) /
               (fit.line->sigma_kg_m3 * fit.line->sigma_kg_m3 + rounding);
    }
    CHECK_NEAR(sum, 4.0, 1e-9);
    // Where the rounding explains all, nothing is left.
    for (Casting& c : castings) {
        c.part_mass_g = std::round(115e-6 * c.volume_mm3 + 280e-6 * *c.skin_volume_mm3);
    }
    CHECK(fit_castings(castings).line->sigma_kg_m3 == 0.0);
    // A scale of 0.1 g, and masses that no scale shows.
    *castings[0].part_mass_g += 0.1;
    CHECK(fit_castings(castings).scale_step_g == 0.1);
    *castings[0].part_mass_g += 0.0123;
    CHECK(fit_castings(castings).scale_step_g == 0.0);
}
