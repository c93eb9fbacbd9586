// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "cavigram/tally/casting.h"
#include "cavigram/tally/fit.h"

namespace cavigram {

/// One casting in the chart.
struct ChartPoint {
    std::int64_t number = 0;     ///< The casting's.
    double x_per_m = 0.0;        ///< Skin area / volume, as DensityLine has it.
    double density_kg_m3 = 0.0;  ///< Part and flash for the cavity's volume.
    bool in_fit = false;         ///< Else it was short, lost, of an older word or impossible.
    /// How far it lies from what the others foretell, as a share of the half width of their 95 %
    /// prediction interval; beyond 1 or -1 it is outside. Empty where it is not in the fit, or the
    /// others alone foretell nothing.
    std::optional<double> off;

    /// Whether it lies where 1 good casting in 20 does.
    [[nodiscard]] bool outside() const { return off && (*off > 1.0 || *off < -1.0); }
};

/// The fit at one place: the next casting lies within it 95 times of 100.
struct BandPoint {
    double x_per_m = 0.0;           ///< Where.
    double density_kg_m3 = 0.0;     ///< The line.
    double plus_minus_kg_m3 = 0.0;  ///< Half of the interval.
};

/// What a shop's castings of one foam and mix look like beside the fit through them.
struct FitChart {
    std::vector<ChartPoint> points;  ///< All that were weighed, in the log's order.
    /// Over the castings' range and a tenth of it to both sides, from the left; empty without a
    /// line.
    std::vector<BandPoint> band;
    /// The same through those that do not lie outside; empty where none does.
    std::vector<BandPoint> band_of_others;
    double band_volume_mm3 = 0.0;  ///< Of the part that the bands are for: the median of those in
                                   ///< the fit. A scale's rounding matters more in smaller ones.
};

/// The chart of castings of one foam and mix. A casting is held against the fit through the others,
/// since it pulls the line through all to itself: that is the externally studentized residual over
/// Student's t (Belsley, Kuh & Welsch, Regression Diagnostics, 1980, section 2.1).
///
/// \pre as fit_castings, which gave `fit`. O(n^2)
[[nodiscard]] FitChart fit_chart(const std::vector<Casting>& castings, const ShopFit& fit);

}  // namespace cavigram
