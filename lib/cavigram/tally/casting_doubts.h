// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cavigram/tally/casting.h"

namespace cavigram {

/// What is known of a foam before a casting of it is logged, in kg/m3.
struct FoamNorm {
    double liquid_kg_m3 = kDensestLiquid_kg_m3;  ///< Of the mix before it rises.
    double free_rise_kg_m3 = 0.0;                ///< As the card has it,
    double free_rise_low_kg_m3 = 0.0;            ///< and as little as it may be.
};

/// Foam lighter than this share of its free rise is none: nothing in a mold makes it rise further.
/// Common practice, no source.
inline constexpr double kLightestShare = 1.0 / 3.0;
/// Packed further than this, foam presses harder than a mold strapped by hand holds (some 130 kPa
/// at 128 kg/m3, gas_pressure_kpa). A figure to ask about, not to refuse.
inline constexpr double kUsualMostPacking = 2.0;

/// Refuses what no foam can be, beyond check_casting: a part that filled its mold, or a freely
/// risen cup, heavier than its liquid or lighter than kLightestShare of its free rise. A short or
/// lost casting may be as light as it likes. Where another unit of the mass or of the mesh would
/// explain the figure, the sentence names it.
///
/// \throw InvalidInput
void refuse_impossible(const Casting& casting, const FoamNorm& norm);

/// What can be and is likely a slip, a sentence each; empty: nothing. A filled mold lighter than
/// the foam rises freely or packed over kUsualMostPacking; more than half of the cup in neither
/// mold, film nor risen leftover; flash that outweighs the part; a freely risen cup at less than
/// half or more than twice the card's.
[[nodiscard]] std::vector<std::string> casting_doubts(const Casting& casting, const FoamNorm& norm);

/// Refuses a date that is none, or lies after `today`, both `2026-11-24`, the date perhaps with a
/// time of day behind it.
///
/// \throw InvalidInput
void check_date(std::string_view date, std::string_view today);

}  // namespace cavigram
