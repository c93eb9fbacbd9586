// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <string_view>

namespace cavigram {

/// In what ways up differ, in the order in which they count where no weights are given; the last
/// three then do not count at all.
enum class WayMeasure { air, show, vents, height, footprint, path, arrival };
inline constexpr std::size_t kWayMeasures = 7;

/// The word for a measure in options, text and JSON.
[[nodiscard]] const char* to_text(WayMeasure measure);

/// One value for each measure, in the enum's order.
using WayValues = std::array<double, kWayMeasures>;

/// How much each measure weighs; those not named weigh nothing.
struct WayWeights {
    WayValues weights = {};  ///< By measure, none negative.
    /// The weight of one measure.
    [[nodiscard]] double of(WayMeasure m) const { return weights[static_cast<std::size_t>(m)]; }

    /// Field by field.
    friend bool operator==(const WayWeights&, const WayWeights&) = default;
};

/// Reads `air=1,vents=2,height=0.5`.
///
/// \throw InvalidInput naming the words, for an unknown or repeated one, for a weight that is
/// negative or no number, and if none is above 0
[[nodiscard]] WayWeights parse_way_weights(std::string_view text, std::string_view name);

/// The least and most of each measure, between which weights count.
struct WayScale {
    WayValues least;  ///< Of each measure.
    WayValues most;   ///< Of each measure.
    WayScale();
    /// Widens the scale to hold these.
    void take(const WayValues& values);
};

/// Weighted mean of how bad a way up is in each measure: 0 for the best on the scale in all, 1 for
/// the worst. A measure in which all are alike adds nothing.
///
/// \pre some weight above 0
[[nodiscard]] double weighted_score(const WayValues& values, const WayWeights& weights,
                                    const WayScale& scale);

}  // namespace cavigram
