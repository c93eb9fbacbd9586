// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/fit.h"

#include <algorithm>
#include <cmath>

#include <boost/math/distributions/students_t.hpp>

#include "cavigram/core/error.h"
#include "cavigram/core/sum.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

constexpr std::size_t kFewest = 3;
// Shapes whose area/volume differ by less than this share can't be told apart by a scale.
constexpr double kLeastContrast = 0.1;

double quantile_975(std::size_t degrees) {
    return boost::math::quantile(boost::math::students_t(static_cast<double>(degrees)), 0.975);
}

double mean(const std::vector<double>& values) {
    CompensatedSum sum;
    for (const double v : values) {
        sum.add(v);
    }
    return sum.value() / static_cast<double>(values.size());
}

Estimate mean_estimate(const std::vector<double>& values) {
    const double middle = mean(values);
    double squares = 0.0;
    for (const double v : values) {
        squares += (v - middle) * (v - middle);
    }
    const auto n = static_cast<double>(values.size());
    return {middle, values.size() < 2
                        ? INFINITY
                        : quantile_975(values.size() - 1) * std::sqrt(squares / (n - 1) / n)};
}

}  // namespace

ShopFit fit_castings(const std::vector<Casting>& castings) {
    std::vector<double> x;  // area/volume in 1/m
    std::vector<double> y;  // density in kg/m3
    std::vector<double> waste;
    for (const Casting& c : castings) {
        if (c.part_mass_g) {
            x.push_back(c.area_mm2 / c.volume_mm3 * 1e3);
            y.push_back(*c.part_mass_g / c.volume_mm3 * 1e6);
        }
        if (c.part_mass_g && c.cup_mass_g) {
            waste.push_back(1.0 - (*c.part_mass_g + c.flash_mass_g.value_or(0.0)) / *c.cup_mass_g);
        }
    }
    if (x.size() < kFewest) {
        throw InvalidInput(
            format("There %s only %zu weighed casting%s of this foam and mix; weigh at least %zu, "
                   "of at least two shapes.",
                   x.size() == 1 ? "is" : "are", x.size(), x.size() == 1 ? "" : "s", kFewest));
    }
    const auto [least, most] = std::minmax_element(x.begin(), x.end());
    if (*most - *least < kLeastContrast * *most) {
        throw InvalidInput(
            format("All castings have nearly the same area for their volume (%s per mm), so skin "
                   "and core can't be told apart; next, "
                   "cast and weigh something much %s.",
                   significant(mean(x) / 1e3, 2).c_str(),
                   mean(x) / 1e3 > 0.12 ? "thicker, such as a ball or a block"
                                        : "thinner, such as a slab or a rod"));
    }
    ShopFit fit;
    fit.castings = x.size();
    const double x_mean = mean(x);
    const double y_mean = mean(y);
    double xx = 0.0;
    double xy = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        xx += (x[i] - x_mean) * (x[i] - x_mean);
        xy += (x[i] - x_mean) * (y[i] - y_mean);
    }
    const double slope = xy / xx;  // kg/m3 times m: kg/m2
    double residual = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
        const double r = y[i] - y_mean - slope * (x[i] - x_mean);
        residual += r * r;
    }
    const auto n = static_cast<double>(x.size());
    const double sigma = std::sqrt(residual / (n - 2.0));
    const double t = quantile_975(x.size() - 2);
    fit.skin_mass_per_area_g_m2 = {1000.0 * slope, 1000.0 * t * sigma / std::sqrt(xx)};
    fit.core_density_kg_m3 = {y_mean - slope * x_mean,
                              t * sigma * std::sqrt(1.0 / n + x_mean * x_mean / xx)};
    fit.scatter_percent = 100.0 * sigma / y_mean;
    fit.waste_castings = waste.size();
    if (!waste.empty()) {
        fit.waste_share = mean_estimate(waste);
    }
    return fit;
}

}  // namespace cavigram
