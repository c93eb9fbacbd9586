// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/fit_chart.h"

#include <algorithm>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

constexpr int kBandPoints = 41;  // the band's edges are curved
constexpr double kBeyond = 0.1;  // of the range, to both sides

bool is_in_fit(const Casting& c) {
    const CastingVerdict verdict = casting_verdict(c.verdict);
    return !heavier_than_polymer(c) &&
           (verdict == CastingVerdict::good || verdict == CastingVerdict::flashed);
}

// What the others foretell of it.
std::optional<double> off_of(const std::vector<Casting>& castings, std::size_t index) {
    std::vector<Casting> others = castings;
    others.erase(others.begin() + static_cast<std::ptrdiff_t>(index));
    const Casting& one = castings[index];
    try {
        const ShopFit fit = fit_castings(others);
        if (!fit.line) {
            return std::nullopt;
        }
        const Estimate foretold = predicted_mass_g(fit, one.volume_mm3, skin_area_mm2(one));
        if (!(foretold.plus_minus > 0.0)) {
            return std::nullopt;  // two of the very same mass tell nothing of scatter
        }
        return (*mold_mass_g(one) - foretold.value) / foretold.plus_minus;
    } catch (const InvalidInput&) {  // too few others
        return std::nullopt;
    }
}

double median_volume_mm3(const std::vector<Casting>& castings) {
    std::vector<double> volumes;
    for (const Casting& c : castings) {
        if (mold_mass_g(c) && is_in_fit(c)) {
            volumes.push_back(c.volume_mm3);
        }
    }
    const auto middle = volumes.begin() + static_cast<std::ptrdiff_t>(volumes.size() / 2);
    std::nth_element(volumes.begin(), middle, volumes.end());
    return *middle;
}

}  // namespace

FitChart fit_chart(const std::vector<Casting>& castings, const ShopFit& fit) {
    FitChart chart;
    for (std::size_t i = 0; i < castings.size(); ++i) {
        const Casting& c = castings[i];
        if (!mold_mass_g(c)) {
            continue;
        }
        ChartPoint point;
        point.number = c.number;
        point.x_per_m = 1e3 * skin_area_mm2(c) / c.volume_mm3;
        point.density_kg_m3 = 1e6 * *mold_mass_g(c) / c.volume_mm3;
        point.in_fit = is_in_fit(c);
        point.off = point.in_fit ? off_of(castings, i) : std::nullopt;
        chart.points.push_back(point);
    }
    if (!fit.line) {
        return chart;
    }
    chart.band_volume_mm3 = median_volume_mm3(castings);
    const double range = fit.line->x_high_per_m - fit.line->x_low_per_m;
    const double beyond = kBeyond * (range > 0.0 ? range : fit.line->x_high_per_m);
    const double low = std::max(0.0, fit.line->x_low_per_m - beyond);
    const double high = fit.line->x_high_per_m + beyond;
    for (int i = 0; i < kBandPoints; ++i) {
        const double x = low + (high - low) * i / (kBandPoints - 1);
        const double area_mm2 = 1e-3 * x * chart.band_volume_mm3;
        const Estimate mass = predicted_mass_g(fit, chart.band_volume_mm3, area_mm2);
        const double density = 1e6 / chart.band_volume_mm3;
        chart.band.push_back({x, density * mass.value, density * mass.plus_minus});
    }
    return chart;
}

}  // namespace cavigram
