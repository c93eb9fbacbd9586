// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/tally/casting.h"

namespace cavigram {

/// An estimate with the half width of its 95 % interval; infinite where one figure only is known.
struct Estimate {
    double value = 0.0;       ///< Best guess.
    double plus_minus = 0.0;  ///< Half of the interval that holds the truth 95 times of 100.
};

/// What filled molds weighed, for their volume: mean density as a straight line over x = skin area
/// / volume (skin_area_mm2 of casting.h), which is the chain m = core * V + (skin - core) * S
/// divided by V.
struct DensityLine {
    std::size_t castings = 0;    ///< That it is drawn through.
    double mean_kg_m3 = 0.0;     ///< At x_mean.
    double x_mean_per_m = 0.0;   ///< Weighted, as the mean is.
    double x_low_per_m = 0.0;    ///< The castings' range.
    double x_high_per_m = 0.0;   ///< The largest area over volume among them.
    double sigma_kg_m3 = 0.0;    ///< From casting to casting, beyond what a scale rounds away.
    double mean_variance = 0.0;  ///< Of mean_kg_m3: sigma^2/n if no rounding shows.
    double next_plus_minus_kg_m3 = 0.0;  ///< 95 % half width for one more casting at x_mean.
    std::size_t degrees = 0;             ///< Of freedom: n - 2, or n - 1 without a slope.
    double scatter_percent = 0.0;        ///< Standard deviation about the line, rounding and all.
    /// Skin mass beyond the core for each area, in kg/m2. Empty where all castings have nearly the
    /// same x.
    std::optional<double> slope_kg_m2;
    double slope_variance = 0.0;  ///< sigma^2/Sxx if no rounding shows.
};

/// A casting that did not fill its mold: what fills is more.
struct ShortCasting {
    std::int64_t number = 0;          ///< Of the casting.
    double mass_g = 0.0;              ///< That did not fill the mold.
    double share_of_predicted = 0.0;  ///< Of what filled castings of its shape weigh.
};

/// What a shop's castings say of one foam at one mix. Counts say from how many castings each figure
/// comes.
struct ShopFit {
    std::string foam;                      ///< Its family.
    std::string mix;                       ///< By weight.
    std::size_t castings = 0;              ///< Weighed, good or flashed: what the line rests on.
    std::size_t by_area = 0;               ///< Of those, without S(t): their area stands in.
    std::size_t shorts = 0;                ///< Kept out of the line, as are the following.
    std::size_t lost = 0;                  ///< Left out: spoiled.
    std::size_t other_verdicts = 0;        ///< Words of older logs.
    std::vector<std::int64_t> impossible;  ///< Those that can't be (is_possible): their numbers.

    double scale_step_g = 0.0;        ///< Of which all masses are multiples; 0: no step shows.
    std::optional<DensityLine> line;  ///< Density over area by volume; none for too few castings.
    /// The line at x = 0: foam without skin. With the line's slope only.
    std::optional<Estimate> core_density_kg_m3;
    /// What the skin adds beyond the core: (skin density - core density) times thickness.
    std::optional<Estimate> skin_mass_per_area_g_m2;

    std::size_t free_rise_cups = 0;                ///< Cups that rose freely and were measured.
    std::optional<Estimate> free_rise_kg_m3;       ///< Mean of the cups.
    double free_rise_next_plus_minus_kg_m3 = 0.0;  ///< Half width for one more cup.
    bool core_below_free_rise = false;  ///< The line's core lies surely below the cups: a
                                        ///< contradiction.

    std::optional<ShortCasting> heaviest_short;    ///< For its shape.
    std::vector<std::int64_t> lighter_than_short;  ///< Good ones, lighter for their shape.

    std::size_t waste_castings = 0;  ///< Of which is known what stayed in the cups.
    /// Grams that stay of a cup of 100 g; of m grams (m/100)^(2/3) times as much, as a film on
    /// walls of like shape.
    Estimate film_at_100_g;
    Estimate waste_share;            ///< The same as a plain share of the pour, for information.
    std::size_t flash_castings = 0;  ///< Good or flashed, of which the flash was weighed.
    Estimate flash_share;            ///< Flash over part.
};

/// The castings of `foam` and `mix`; empty words choose all. Mixes are compared as ratios: 25:50 is
/// 50:100.
///
/// \throw InvalidInput if there are none, with the foams and mixes that there are
[[nodiscard]] std::vector<Casting> castings_of(const std::vector<Casting>& all,
                                               const std::string& foam, const std::string& mix);

/// The castings from one mold; an empty word chooses all.
///
/// \throw InvalidInput if there are none, with the molds that there are
[[nodiscard]] std::vector<Casting> castings_from_mold(const std::vector<Casting>& all,
                                                      const std::string& mold);

/// The castings parted by foam and mix, in the order of the log.
[[nodiscard]] std::vector<std::vector<Casting>> by_foam_and_mix(const std::vector<Casting>& all);

/// Fits the castings of one foam and mix.
///
/// The line by least squares. Where all masses are multiples of a scale's step, each casting is
/// weighted by 1/(sigma^2 + its rounding) with sigma from Paule & Mandel, J. Res. NBS 87 (1982)
/// 377, so that a small part on a coarse scale does not count as a large one; without a step that
/// is the plain fit. It needs 3 castings with x a tenth apart; with 2 or more of nearly one x it is
/// a mean without slope. Intervals by Student's t.
///
/// \throw InvalidInput for castings of several foams or mixes, with their names, or if nothing can
/// be said, with what to weigh next
[[nodiscard]] ShopFit fit_castings(const std::vector<Casting>& all);

/// What the next casting of a part will weigh, flash and all, if its mold fills, with the half
/// width of the 95 % prediction interval: t sqrt(sigma^2 (1 + 1/n + (x - x_mean)^2/Sxx)) and the
/// rounding of the scale. `skin_area_mm2` is S(t)/t.
///
/// Without a slope the core may be anything from nothing to the mean itself, which widens the
/// interval for other shapes than those cast.
///
/// \pre fit.line, volume and area positive
/// \throw InvalidInput without a line
[[nodiscard]] Estimate predicted_mass_g(const ShopFit& fit, double volume_mm3,
                                        double skin_area_mm2);

}  // namespace cavigram
