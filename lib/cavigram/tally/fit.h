// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "cavigram/tally/casting_log.h"

namespace cavigram {

/// An estimate with the half width of its 95 % confidence interval.
struct Estimate {
    double value = 0.0;
    double plus_minus = 0.0;
};

/// What a shop's castings say of its own foam.
struct ShopFit {
    std::size_t castings = 0;  ///< That had part mass, volume and area.
    Estimate core_density_kg_m3;
    Estimate skin_mass_per_area_g_m2;  ///< What the skin adds beyond the core: (skin density - core
                                       ///< density) times thickness.
    double scatter_percent = 0.0;  ///< Standard deviation of a casting about the fit, of its mass.
    std::size_t waste_castings = 0;  ///< That had a cup mass too.
    Estimate waste_share;            ///< Of the pour: neither part nor trimmed flash.
};

/// Fits part mass = core density * volume + skin mass per area * area over the castings of one foam
/// and mix by least squares, each casting weighted by its volume: the mean density of each part is
/// a straight line over its area/volume.
///
/// Intervals by Student's t with n - 2 (waste: n - 1) degrees of freedom. Needs 3 castings of at
/// least two shapes whose area/volume differ by a tenth. \throw InvalidInput if the castings can't
/// tell core and skin apart, with what to cast next; if there are too few
[[nodiscard]] ShopFit fit_castings(const std::vector<Casting>& castings);

}  // namespace cavigram
