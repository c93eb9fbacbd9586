// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/finding.h"

namespace cavigram {

/// What one leg of a strap holds before it slips or gives, where nothing is known: a cam strap
/// drawn tight by hand. A guess; common practice, no source.
inline constexpr double kStrapHolds_n = 500.0;
/// Straps are counted for so many times less than they hold. Common practice, no source.
inline constexpr double kStrapSafety = 3.0;
/// Straps farther apart than this let the parting gape between them. Common practice, no source.
inline constexpr double kWidestPitch_mm = 100.0;
/// Straps can't lie closer than this: their own width and the buckle. Common practice, no source.
inline constexpr double kClosestPitch_mm = 30.0;

/// What presses the halves apart, and what holds them.
struct StrapRequest {
    double pressure_kpa = 0.0;        ///< What the planned pour presses with.
    double strap_for_kpa = 0.0;       ///< What straps are planned for: more, since that is a guess.
    double projected_area_mm2 = 0.0;  ///< Of the cavity on the parting plane, not its surface.
    double run_mm = 0.0;              ///< Length of the mold along which straps lie side by side.
    std::optional<double> holds_n;    ///< One leg, as known; none: kStrapHolds_n, a guess.
    double safety = kStrapSafety;     ///< How many times less is counted on.
    std::optional<int> straps;        ///< As many as there are; none: as many as it takes.
};

/// Straps around a closed mold.
struct Straps {
    StrapRequest request;           ///< What it was computed for.
    double opening_force_n = 0.0;   ///< With the planned pour's pressure.
    double planned_force_n = 0.0;   ///< With what straps are planned for.
    int straps = 0;                 ///< Loops, two legs each.
    double leg_load_n = 0.0;        ///< On each leg, with the planned pour's pressure.
    double leg_holds_n = 0.0;       ///< As known or guessed.
    double leg_needed_n = 0.0;      ///< What each leg must hold: planned force, safety with it.
    double pitch_mm = 0.0;          ///< From one to the next.
    double holds_kpa = 0.0;         ///< At which the legs carry what is counted on.
    std::vector<Finding> findings;  ///< no_straps, straps_crowded, straps_too_few.
};

/// How many straps, how far apart, how strong, and what pressure the mold then holds.
///
/// The force is pressure times projected area (docs/checks.md E7, E9), the load of a leg force over
/// twice the loops, which for a round shell is the pressure times width times pitch over two (E8).
/// At least two straps, no farther apart than kWidestPitch_mm. The mold holds what its legs do, or
/// where that is a guess no more than they are planned for; never more than kStrappedByHand_kpa
/// (limits.h), whatever the straps would bear.
///
/// Findings: `no_straps` (stop) where there are none and foam presses; `straps_too_few` (warning)
/// where fewer are given than the planned force takes; `straps_crowded` (stop) where as many as it
/// takes have no room. O(1).
///
/// \pre pressures >= 0; area, run, holds and safety above 0; straps >= 0
[[nodiscard]] Straps plan_straps(const StrapRequest& request);

}  // namespace cavigram
