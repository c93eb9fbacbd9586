// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/fit_chart.h"

#include <cmath>

#include "support/near.h"

using namespace cavigram;

namespace {

// Masses that are multiples of no scale's step, so that all castings weigh the same in the fit.
Casting cast(std::int64_t number, double x_per_m, double density_kg_m3) {
    Casting c;
    c.number = number;
    c.foam = "ours";
    c.mix = "50:100";
    c.verdict = "good";
    c.volume_mm3 = 250'000.0;
    c.area_mm2 = 1e-3 * x_per_m * c.volume_mm3;
    c.skin_reference_mm = 1.0;
    c.skin_volume_mm3 = c.area_mm2;
    c.part_mass_g = 1e-6 * density_kg_m3 * c.volume_mm3;
    return c;
}

struct Xy {
    double x;
    double y;
};

// The fifth lies off.
const std::vector<Xy> kPoints = {{60, 131.217},  {95, 142.391},  {140, 154.653}, {210, 173.829},
                                 {250, 214.977}, {310, 203.431}, {405, 227.759}};
constexpr std::size_t kOff = 4;

std::vector<Casting> shop(const std::vector<Xy>& points) {
    std::vector<Casting> castings;
    for (const Xy& p : points) {
        castings.push_back(cast(static_cast<std::int64_t>(castings.size()) + 1, p.x, p.y));
    }
    return castings;
}

// Externally studentized residuals from the fit through all, by the closed form that takes each
// point out: Belsley, Kuh & Welsch, Regression Diagnostics (1980), equations 2.8 and 2.26.
std::vector<double> studentized(const std::vector<Xy>& points) {
    const auto n = static_cast<double>(points.size());
    double x = 0.0;
    double y = 0.0;
    for (const Xy& p : points) {
        x += p.x / n;
        y += p.y / n;
    }
    double sxx = 0.0;
    double sxy = 0.0;
    for (const Xy& p : points) {
        sxx += (p.x - x) * (p.x - x);
        sxy += (p.x - x) * (p.y - y);
    }
    const auto residual = [&](const Xy& p) { return p.y - y - sxy / sxx * (p.x - x); };
    double sse = 0.0;
    for (const Xy& p : points) {
        sse += residual(p) * residual(p);
    }
    std::vector<double> t;
    for (const Xy& p : points) {
        const double h = 1.0 / n + (p.x - x) * (p.x - x) / sxx;
        const double e = residual(p);
        const double without = (sse - e * e / (1.0 - h)) / (n - 3.0);
        t.push_back(e / std::sqrt(without * (1.0 - h)));
    }
    return t;
}

}  // namespace

TEST_CASE("a casting is held against the line through the others") {
    const std::vector<Casting> castings = shop(kPoints);
    const FitChart chart = fit_chart(castings, fit_castings(castings));
    const std::vector<double> t = studentized(kPoints);
    // Student's t, 4 degrees of freedom, 0.975: NIST/SEMATECH e-Handbook, section 1.3.6.7.2.
    constexpr double kT4 = 2.776;
    REQUIRE(chart.points.size() == kPoints.size());
    for (std::size_t i = 0; i < kPoints.size(); ++i) {
        CAPTURE(i);
        REQUIRE(chart.points[i].off);
        CHECK_NEAR(*chart.points[i].off, t[i] / kT4, 2e-4);  // the table's four digits
        CHECK(chart.points[i].outside() == (i == kOff));
        CHECK_NEAR(chart.points[i].density_kg_m3, kPoints[i].y, 1e-12);
        CHECK_NEAR(chart.points[i].x_per_m, kPoints[i].x, 1e-12);
    }
    // The band through the others is what leaves it outside.
    std::vector<Casting> others = castings;
    others.erase(others.begin() + kOff);
    const ShopFit without = fit_castings(others);
    REQUIRE(chart.band_of_others.size() == chart.band.size());
    const BandPoint& end = chart.band_of_others.back();
    CHECK(end.x_per_m == chart.band.back().x_per_m);
    CHECK_NEAR(end.density_kg_m3,
               predicted_mass_g(without, 250'000.0, 250.0 * end.x_per_m).value / 0.25, 1e-12);
}

TEST_CASE("what is not in the fit is drawn and judged by nothing") {
    std::vector<Casting> castings = shop(kPoints);
    castings[1].verdict = "short";
    castings[2].verdict = "lost";
    castings[3].part_mass_g = 2e-3 * castings[3].volume_mm3;  // twice as heavy as water
    castings[6].part_mass_g.reset();                          // a cup only
    const FitChart chart = fit_chart(castings, fit_castings(castings));
    REQUIRE(chart.points.size() == 6);
    for (const std::size_t i : {1U, 2U, 3U}) {
        CHECK_FALSE(chart.points[i].in_fit);
        CHECK_FALSE(chart.points[i].off);
    }
    CHECK(chart.points[0].in_fit);
    CHECK(chart.band_of_others.empty());  // none lies outside
}

TEST_CASE("the band is what is predicted of a part of the median volume") {
    std::vector<Casting> castings = shop(kPoints);
    castings[0].volume_mm3 *= 4.0;  // others at the ends
    castings[0].part_mass_g = *castings[0].part_mass_g * 4.0;
    const ShopFit fit = fit_castings(castings);
    const FitChart chart = fit_chart(castings, fit);
    CHECK(chart.band_volume_mm3 == 250'000.0);
    REQUIRE(chart.band.size() > 2);
    for (const BandPoint& p : chart.band) {
        const Estimate mass = predicted_mass_g(fit, 250'000.0, 250.0 * p.x_per_m);
        CHECK_NEAR(p.density_kg_m3, mass.value / 0.25, 1e-12);
        CHECK_NEAR(p.plus_minus_kg_m3, mass.plus_minus / 0.25, 1e-12);
    }
    CHECK(chart.band.front().x_per_m < fit.line->x_low_per_m);
    CHECK(chart.band.back().x_per_m > fit.line->x_high_per_m);
    // Wider toward both ends than in the middle, as every line's is.
    const BandPoint& middle = chart.band[chart.band.size() / 2];
    CHECK(chart.band.front().plus_minus_kg_m3 > middle.plus_minus_kg_m3);
    CHECK(chart.band.back().plus_minus_kg_m3 > middle.plus_minus_kg_m3);
}

TEST_CASE("with too few there are points and no more") {
    const std::vector<Casting> two = shop({{100, 140.123}, {102, 142.321}});
    const FitChart of_two = fit_chart(two, fit_castings(two));
    CHECK(of_two.points.size() == 2);
    CHECK_FALSE(of_two.points[0].off);
    CHECK(of_two.band.size() > 2);  // a mean
    ShopFit none;
    const FitChart of_one = fit_chart(shop({{100, 140.123}}), none);
    CHECK(of_one.points.size() == 1);
    CHECK(of_one.band.empty());
}
