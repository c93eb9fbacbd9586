// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/fit_chart.h"

#include <algorithm>
#include <optional>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

constexpr int kBandPoints = 41;  // the band's edges are curved
constexpr double kBeyond = 0.1;  // of the range, to both sides

bool is_in_fit(const Casting& c) {
    const CastingVerdict verdict = casting_verdict(c.verdict);
    return is_possible(c) &&
           (verdict == CastingVerdict::good || verdict == CastingVerdict::flashed);
}

// Nothing where they are too few.
std::optional<ShopFit> fit_of(const std::vector<Casting>& castings) {
    try {
        return fit_castings(castings);
    } catch (const InvalidInput&) {
        return std::nullopt;
    }
}

// How far it is from what the others foretell.
std::optional<double> off_of(const std::vector<Casting>& castings, std::size_t index) {
    std::vector<Casting> others = castings;
    others.erase(others.begin() + static_cast<std::ptrdiff_t>(index));
    const Casting& one = castings[index];
    const std::optional<ShopFit> fit = fit_of(others);
    if (!fit || !fit->line) {
        return std::nullopt;
    }
    const Estimate foretold = predicted_mass_g(*fit, one.volume_mm3, skin_area_mm2(one));
    // Two of the very same mass tell nothing of scatter.
    return foretold.plus_minus > 0.0
               ? std::optional((*mold_mass_g(one) - foretold.value) / foretold.plus_minus)
               : std::nullopt;
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

struct Range {
    double low = 0.0;
    double high = 0.0;
};

// The castings' range and a little beyond; of one shape, a little about it.
Range band_range(const DensityLine& line) {
    const double range = line.x_high_per_m - line.x_low_per_m;
    const double beyond = kBeyond * (range > 0.0 ? range : line.x_high_per_m);
    return {std::max(0.0, line.x_low_per_m - beyond), line.x_high_per_m + beyond};
}

std::vector<BandPoint> band_of(const ShopFit& fit, double volume_mm3, const Range& x_per_m) {
    std::vector<BandPoint> band;
    for (int i = 0; i < kBandPoints; ++i) {
        const double x = x_per_m.low + (x_per_m.high - x_per_m.low) * i / (kBandPoints - 1);
        const Estimate mass = predicted_mass_g(fit, volume_mm3, 1e-3 * x * volume_mm3);
        const double density = 1e6 / volume_mm3;
        band.push_back({x, density * mass.value, density * mass.plus_minus});
    }
    return band;
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
    const Range range = band_range(*fit.line);
    chart.band = band_of(fit, chart.band_volume_mm3, range);
    std::vector<Casting> others = castings;
    std::erase_if(others, [&](const Casting& c) {
        return std::any_of(chart.points.begin(), chart.points.end(), [&](const ChartPoint& p) {
            return p.number == c.number && p.outside();
        });
    });
    if (others.size() < castings.size() && !others.empty()) {
        const std::optional<ShopFit> of_others = fit_of(others);
        if (of_others && of_others->line) {
            chart.band_of_others = band_of(*of_others, chart.band_volume_mm3, range);
        }
    }
    return chart;
}

}  // namespace cavigram
