// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/fit.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <span>

#include <boost/math/distributions/students_t.hpp>
#include <fmt/format.h>

#include "cavigram/core/error.h"
#include "cavigram/core/quantity.h"
#include "cavigram/core/sum.h"

namespace cavigram {

namespace {

// A line needs one more casting than it has figures; a mean needs two.
constexpr std::size_t kFewestOfShapes = 3;
constexpr std::size_t kFewestOfOneShape = 2;
// Shapes whose skin area for the volume differs by less than this share can't be told apart by a
// scale.
constexpr double kLeastContrast = 0.1;
constexpr double kOunce_g = 28.349523125;
// Steps of scales in common use, coarsest first.
constexpr double kScaleSteps_g[] = {
    0.1 * kOunce_g, 0.05 * kOunce_g, 1.0, 0.5, 0.01 * kOunce_g, 0.2, 0.1, 0.01};

double quantile_975(std::size_t degrees) {
    return boost::math::quantile(boost::math::students_t(static_cast<double>(degrees)), 0.975);
}

double mean(std::span<const double> values) {
    CompensatedSum sum;
    for (const double v : values) {
        sum.add(v);
    }
    return sum.value() / static_cast<double>(values.size());
}

// Standard deviation of one value. \pre two values or more
double deviation(std::span<const double> values) {
    const double middle = mean(values);
    double squares = 0.0;
    for (const double v : values) {
        squares += (v - middle) * (v - middle);
    }
    return std::sqrt(squares / static_cast<double>(values.size() - 1));
}

// Half width of the 95 % interval of the mean (`next` = 0) or of one more value (`next` = 1).
double half_width(std::span<const double> values, double next) {
    return values.size() < 2 ? INFINITY
                             : quantile_975(values.size() - 1) * deviation(values) *
                                   std::sqrt(next + 1.0 / static_cast<double>(values.size()));
}

Estimate mean_estimate(std::span<const double> values) {
    return values.empty() ? Estimate{} : Estimate{mean(values), half_width(values, 0.0)};
}

// The coarsest step of which all masses are multiples; 0 if there is none. \pre not empty
double scale_step_g(std::span<const double> masses) {
    for (const double step : kScaleSteps_g) {
        // Typed figures differ from their multiple by conversion only.
        if (std::all_of(masses.begin(), masses.end(), [step](double m) {
                return std::abs(m / step - std::round(m / step)) < 1e-6;
            })) {
            return step;
        }
    }
    return 0.0;
}

// Variance of a mass that was rounded `readings` times, as a density: a uniform error of one step.
double rounding_variance(double step_g, double readings, double volume_mm3) {
    const double step_kg_m3 = 1e6 * step_g / volume_mm3;
    return readings * step_kg_m3 * step_kg_m3 / 12.0;
}

struct Point {
    double x_per_m = 0.0;
    double y_kg_m3 = 0.0;
    double rounding = 0.0;  // variance
};

// A weighted line, or mean, through the points.
struct Weighted {
    double x_mean = 0.0;
    double y_mean = 0.0;
    double slope = 0.0;
    double weights = 0.0;
    double sxx = 0.0;
    double residual = 0.0;  // weighted sum of squares
    double plain = 0.0;     // unweighted
};

Weighted weighted_fit(const std::vector<Point>& points, double variance, bool sloped) {
    Weighted fit;
    CompensatedSum weights;
    CompensatedSum x;
    CompensatedSum y;
    // Where no rounding shows all weigh the same, and sigma follows from the residuals.
    const auto weight = [variance](const Point& p) {
        return p.rounding > 0.0 ? 1.0 / (variance + p.rounding) : 1.0;
    };
    for (const Point& p : points) {
        weights.add(weight(p));
        x.add(weight(p) * p.x_per_m);
        y.add(weight(p) * p.y_kg_m3);
    }
    fit.weights = weights.value();
    fit.x_mean = x.value() / fit.weights;
    fit.y_mean = y.value() / fit.weights;
    double sxy = 0.0;
    for (const Point& p : points) {
        fit.sxx += weight(p) * (p.x_per_m - fit.x_mean) * (p.x_per_m - fit.x_mean);
        sxy += weight(p) * (p.x_per_m - fit.x_mean) * (p.y_kg_m3 - fit.y_mean);
    }
    fit.slope = sloped ? sxy / fit.sxx : 0.0;
    for (const Point& p : points) {
        const double r = p.y_kg_m3 - fit.y_mean - fit.slope * (p.x_per_m - fit.x_mean);
        fit.residual += weight(p) * r * r;
        fit.plain += r * r;
    }
    return fit;
}

// Paule & Mandel: sigma^2 is such that the weighted residuals are as large as their degrees of
// freedom; nothing if the rounding alone explains them.
double variance_beyond_rounding(const std::vector<Point>& points, std::size_t degrees,
                                bool sloped) {
    const auto freedom = static_cast<double>(degrees);
    if (weighted_fit(points, 0.0, sloped).residual <= freedom) {
        return 0.0;
    }
    double low = 0.0;
    double high = points.front().rounding;
    while (weighted_fit(points, high, sloped).residual > freedom) {
        high *= 2.0;
    }
    constexpr int kHalvings = 80;  // beyond the digits of a double
    for (int i = 0; i < kHalvings; ++i) {
        const double middle = 0.5 * (low + high);
        (weighted_fit(points, middle, sloped).residual > freedom ? low : high) = middle;
    }
    return high;
}

std::optional<DensityLine> density_line(const std::vector<Point>& points) {
    if (points.size() < kFewestOfOneShape) {
        return std::nullopt;
    }
    const auto by_x = [](const Point& a, const Point& b) { return a.x_per_m < b.x_per_m; };
    const auto [least, most] = std::minmax_element(points.begin(), points.end(), by_x);
    const bool sloped = most->x_per_m - least->x_per_m >= kLeastContrast * most->x_per_m;
    if (sloped && points.size() < kFewestOfShapes) {
        return std::nullopt;
    }
    DensityLine line;
    line.castings = points.size();
    line.x_low_per_m = least->x_per_m;
    line.x_high_per_m = most->x_per_m;
    line.degrees = points.size() - (sloped ? 2 : 1);
    const bool rounded = points.front().rounding > 0.0;
    double variance = rounded ? variance_beyond_rounding(points, line.degrees, sloped) : 0.0;
    const Weighted fit = weighted_fit(points, variance, sloped);
    const auto freedom = static_cast<double>(line.degrees);
    double unit = 1.0;  // variance of weight 1
    if (!rounded) {
        variance = unit = fit.residual / freedom;
    }
    line.mean_kg_m3 = fit.y_mean;
    line.x_mean_per_m = fit.x_mean;
    line.sigma_kg_m3 = std::sqrt(variance);
    line.mean_variance = unit / fit.weights;
    line.next_plus_minus_kg_m3 =
        quantile_975(line.degrees) * std::sqrt(variance + line.mean_variance);
    line.scatter_percent = 100.0 * std::sqrt(fit.plain / freedom) / fit.y_mean;
    if (sloped) {
        line.slope_kg_m2 = fit.slope;
        line.slope_variance = unit / fit.sxx;
    }
    return line;
}

void take_skin_and_core(ShopFit& fit) {
    if (!fit.line || !fit.line->slope_kg_m2) {
        return;
    }
    const DensityLine& line = *fit.line;
    const double t = quantile_975(line.degrees);
    const double x = line.x_mean_per_m;
    fit.skin_mass_per_area_g_m2 = {1e3 * *line.slope_kg_m2,
                                   1e3 * t * std::sqrt(line.slope_variance)};
    fit.core_density_kg_m3 = {line.mean_kg_m3 - *line.slope_kg_m2 * x,
                              t * std::sqrt(line.mean_variance + x * x * line.slope_variance)};
}

void take_free_rise(ShopFit& fit, const std::vector<Casting>& castings) {
    std::vector<double> densities;
    std::vector<double> masses;
    std::vector<double> volumes;
    for (const Casting& c : castings) {
        if (const auto density = free_rise_density_kg_m3(c)) {
            densities.push_back(*density);
            masses.push_back(*c.free_rise_mass_g);
            volumes.push_back(*c.free_rise_volume_ml);
        }
    }
    fit.free_rise_cups = densities.size();
    if (densities.empty()) {
        return;
    }
    // Cups of one size are rounded the same way each time, so that their rounding does not average
    // out: half a step stays.
    const double rounding = 0.5 * 1e3 * scale_step_g(masses) / mean(volumes);
    fit.free_rise_kg_m3 = {mean(densities), std::hypot(half_width(densities, 0.0), rounding)};
    fit.free_rise_next_plus_minus_kg_m3 = std::hypot(half_width(densities, 1.0), rounding);
    if (const auto& core = fit.core_density_kg_m3) {
        fit.core_below_free_rise = core->value + core->plus_minus <
                                   fit.free_rise_kg_m3->value - fit.free_rise_kg_m3->plus_minus;
    }
}

void take_shorts(ShopFit& fit, const std::vector<Casting>& castings) {
    if (!fit.line) {
        return;
    }
    const auto share = [&fit](const Casting& c) {
        const double wanted_g = predicted_mass_g(fit, c.volume_mm3, skin_area_mm2(c)).value;
        return wanted_g > 0.0 ? *mold_mass_g(c) / wanted_g : 0.0;
    };
    for (const Casting& c : castings) {
        if (casting_verdict(c.verdict) == CastingVerdict::short_shot && mold_mass_g(c) &&
            (!fit.heaviest_short || share(c) > fit.heaviest_short->share_of_predicted)) {
            fit.heaviest_short = {c.number, *mold_mass_g(c), share(c)};
        }
    }
    for (const Casting& c : castings) {
        if (fit.heaviest_short && casting_verdict(c.verdict) == CastingVerdict::good &&
            mold_mass_g(c) && share(c) < fit.heaviest_short->share_of_predicted) {
            fit.lighter_than_short.push_back(c.number);
        }
    }
}

// What stayed in the cups: weighed, or the rest of a filled mold's cup. What runs out of a mold
// that was short or lost is not seen.
std::optional<double> stayed_g(const Casting& c) {
    if (c.stayed_mass_g) {
        return c.stayed_mass_g;
    }
    const CastingVerdict verdict = casting_verdict(c.verdict);
    if (!c.cup_mass_g || !c.part_mass_g ||
        (verdict != CastingVerdict::good && verdict != CastingVerdict::flashed)) {
        return std::nullopt;
    }
    return *c.cup_mass_g - *mold_mass_g(c) - c.free_rise_mass_g.value_or(0.0);
}

void take_waste(ShopFit& fit, const std::vector<Casting>& castings) {
    std::vector<double> films;
    std::vector<double> shares;
    for (const Casting& c : castings) {
        const auto stayed = stayed_g(c);
        if (stayed && c.cup_mass_g) {
            films.push_back(*stayed / std::pow(*c.cup_mass_g / 100.0, 2.0 / 3.0));
            shares.push_back(*stayed / *c.cup_mass_g);
        }
    }
    fit.waste_castings = films.size();
    fit.film_at_100_g = mean_estimate(films);
    fit.waste_share = mean_estimate(shares);
    // Rounding can make a clean cup's film a little less than nothing.
    fit.film_at_100_g.value = std::max(0.0, fit.film_at_100_g.value);
    fit.waste_share.value = std::max(0.0, fit.waste_share.value);
}

// A mix as one number, parts of A for each part of B; empty if it is no ratio.
std::optional<double> ratio_of(const std::string& mix) {
    try {
        const MixRatio ratio = parse_mix_ratio(mix, "mix");
        return ratio.a / ratio.b;
    } catch (const InvalidInput&) {
        return std::nullopt;
    }
}

bool same_mix(const std::string& one, const std::string& two) {
    const auto first = ratio_of(one);
    const auto second = ratio_of(two);
    // The log writes six digits.
    return first && second ? std::abs(*first - *second) <= 1e-5 * *first : one == two;
}

bool same_foam_and_mix(const Casting& one, const Casting& two) {
    return one.foam == two.foam && same_mix(one.mix, two.mix);
}

// "ours 50:100 (4), ours 30:100 (2)".
std::string foams_and_mixes(const std::vector<Casting>& all) {
    std::string words;
    for (const std::vector<Casting>& some : by_foam_and_mix(all)) {
        words += fmt::format("{}{} {} ({})", words.empty() ? "" : ", ", some.front().foam,
                             some.front().mix, some.size());
    }
    return words;
}

// Those that can be; names the others.
std::vector<Casting> take_possible(ShopFit& fit, const std::vector<Casting>& all) {
    std::vector<Casting> possible;
    for (const Casting& c : all) {
        if (is_possible(c)) {
            possible.push_back(c);
        } else {
            fit.impossible.push_back(c.number);
        }
    }
    return possible;
}

// Counts how the castings came out; gives back those that filled the mold and were weighed.
std::vector<Casting> take_verdicts(ShopFit& fit, const std::vector<Casting>& castings) {
    std::vector<Casting> filled;
    for (const Casting& c : castings) {
        const CastingVerdict verdict = casting_verdict(c.verdict);
        fit.shorts += verdict == CastingVerdict::short_shot ? 1 : 0;
        fit.lost += verdict == CastingVerdict::lost ? 1 : 0;
        fit.other_verdicts += verdict == CastingVerdict::other ? 1 : 0;
        if (c.part_mass_g &&
            (verdict == CastingVerdict::good || verdict == CastingVerdict::flashed)) {
            filled.push_back(c);
        }
    }
    return filled;
}

}  // namespace

std::vector<Casting> castings_of(const std::vector<Casting>& all, const std::string& foam,
                                 const std::string& mix) {
    std::vector<Casting> some = all;
    std::erase_if(some, [&](const Casting& c) {
        return (!foam.empty() && c.foam != foam) || (!mix.empty() && !same_mix(c.mix, mix));
    });
    if (!some.empty()) {
        return some;
    }
    if (all.empty()) {
        throw InvalidInput("The log is empty; add what was weighed with cavigram tally add.");
    }
    throw InvalidInput(fmt::format(
        "The log holds no casting of {}{}{}, only of {}; choose one of these with {} and {}.",
        foam.empty() ? "any foam" : foam, mix.empty() ? "" : " at ", mix, foams_and_mixes(all),
        setting("foam"), setting("mix")));
}

std::vector<Casting> castings_from_mold(const std::vector<Casting>& all, const std::string& mold) {
    std::vector<Casting> some = all;
    std::erase_if(some, [&](const Casting& c) { return !mold.empty() && c.mold != mold; });
    if (!some.empty() || all.empty()) {
        return some;
    }
    std::set<std::string> molds;
    for (const Casting& c : all) {
        if (!c.mold.empty()) {
            molds.insert(c.mold);
        }
    }
    throw InvalidInput(
        molds.empty()
            ? fmt::format("The log names no molds; give {} with each casting that you add.",
                          setting("mold"))
            : fmt::format("The log holds no casting from the mold \"{}\", only from {}; choose one "
                          "of these with {}.",
                          mold, fmt::join(molds, ", "), setting("mold")));
}

std::vector<std::vector<Casting>> by_foam_and_mix(const std::vector<Casting>& all) {
    std::vector<std::vector<Casting>> parted;
    for (const Casting& c : all) {
        const auto place = std::find_if(parted.begin(), parted.end(), [&c](const auto& some) {
            return same_foam_and_mix(some.front(), c);
        });
        if (place == parted.end()) {
            parted.push_back({c});
        } else {
            place->push_back(c);
        }
    }
    return parted;
}

ShopFit fit_castings(const std::vector<Casting>& all) {
    if (by_foam_and_mix(all).size() > 1) {
        throw InvalidInput(
            fmt::format("Castings of several foams or mixes say nothing together: {}; "
                        "choose one with {} and {}.",
                        foams_and_mixes(all), setting("foam"), setting("mix")));
    }
    ShopFit fit;
    if (!all.empty()) {
        fit.foam = all.front().foam;
        fit.mix = all.front().mix;
    }
    const std::vector<Casting> castings = take_possible(fit, all);
    const std::vector<Casting> filled = take_verdicts(fit, castings);
    std::vector<double> masses;
    std::vector<double> flash;
    for (const Casting& c : filled) {
        masses.push_back(*c.part_mass_g);
        masses.push_back(c.flash_mass_g.value_or(0.0));
        fit.by_area += c.skin_volume_mm3 ? 0 : 1;
        if (c.flash_mass_g) {
            flash.push_back(*c.flash_mass_g / *c.part_mass_g);
        }
    }
    fit.castings = filled.size();
    fit.flash_castings = flash.size();
    fit.flash_share = mean_estimate(flash);
    fit.scale_step_g = masses.empty() ? 0.0 : scale_step_g(masses);
    std::vector<Point> points;
    for (const Casting& c : filled) {
        const double readings = c.flash_mass_g ? 2.0 : 1.0;
        points.push_back({1e3 * skin_area_mm2(c) / c.volume_mm3,
                          1e6 * *mold_mass_g(c) / c.volume_mm3,
                          rounding_variance(fit.scale_step_g, readings, c.volume_mm3)});
    }
    fit.line = density_line(points);
    take_skin_and_core(fit);
    take_free_rise(fit, castings);
    take_shorts(fit, castings);
    take_waste(fit, castings);
    if (!fit.line && fit.free_rise_cups == 0 && fit.waste_castings == 0) {
        throw InvalidInput(fmt::format(
            "There {} of this foam and mix with a part's mass; weigh at least 2 of one shape, or 3 "
            "of at least two shapes.",
            fit.castings == 0   ? "is no good casting"
            : fit.castings == 1 ? "is only 1 good casting"
                                : "are only 2 good castings"));
    }
    return fit;
}

Estimate predicted_mass_g(const ShopFit& fit, double volume_mm3, double skin_area_mm2) {
    if (!fit.line) {
        throw InvalidInput(
            "The log holds too few good castings of this foam and mix to predict a mass; weigh at "
            "least 2 of one shape, or 3 of at least two shapes.");
    }
    const DensityLine& line = *fit.line;
    const double x = 1e3 * skin_area_mm2 / volume_mm3;
    const double away = x - line.x_mean_per_m;
    double density = line.mean_kg_m3;
    double beyond = 0.0;
    if (line.slope_kg_m2) {
        density += *line.slope_kg_m2 * away;
    } else {
        // The skin's share of the mean is between nothing and all of it: half, give or take half.
        density *= 1.0 + 0.5 * away / line.x_mean_per_m;
        beyond = 0.5 * std::abs(away) / line.x_mean_per_m * line.mean_kg_m3;
    }
    const double variance = line.sigma_kg_m3 * line.sigma_kg_m3 + line.mean_variance +
                            away * away * line.slope_variance +
                            rounding_variance(fit.scale_step_g, 1.0, volume_mm3);
    const double half = quantile_975(line.degrees) * std::sqrt(variance) + beyond;
    return {1e-6 * density * volume_mm3, 1e-6 * half * volume_mm3};
}

}  // namespace cavigram
