// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/foam/card.h"
#include "cavigram/foam/pressure.h"

namespace cavigram {

/// What a strapped rubber mold is taken to hold until its straps are computed. A guess; common
/// practice, no source.
inline constexpr double kMoldHolds_kpa = 30.0;

/// Straps are planned for so many times the estimated pressure. Common practice, no source.
inline constexpr double kPressureReserve = 2.0;

/// What the window depends on.
struct WindowRequest {
    double planned_g = 0.0;        ///< Foam in the mold: the part and what fills its holes.
    double volume_mm3 = 0.0;       ///< Of the cavity with its holes.
    double volume_low_mm3 = 0.0;   ///< Likely range of the volume.
    double volume_high_mm3 = 0.0;  ///< Likely range of the volume.
    Ranged free_rise_kg_m3;        ///< Of the mix, in the room's air.
    double mold_holds_kpa = kMoldHolds_kpa;  ///< What the mold is taken to hold.
    double air_kpa = kAtmosphere_kpa;        ///< Of the room.
};

/// Between which masses in the mold the pour works.
struct PourWindow {
    WindowRequest request;           ///< What it was made for.
    double fills_from_low_g = 0.0;   ///< Fills if the foam rises as much as it may,
    double fills_from_g = 0.0;       ///< as it likely does,
    double fills_from_high_g = 0.0;  ///< as little as it may.
    double presses_over_g = 0.0;     ///< Above this it presses harder than the mold holds.
    double pressure_kpa = 0.0;       ///< About what the planned pour presses with.
    double strap_for_kpa = 0.0;      ///< What straps are planned for.
    std::vector<Finding> findings;   ///< may_fall_short, high_pressure.
};

/// The window of a pour: fills from free rise times volume, presses too hard above the mass whose
/// gas (gas_pressure_kpa) reaches what the mold holds (foam_model.md 2). Findings: `may_fall_short`
/// if the planned pour is less than the worst case needs, `high_pressure` if it presses harder than
/// the mold holds.
///
/// O(1).
///
/// \pre all above 0, ranges in order; polymer denser than the foam
[[nodiscard]] PourWindow pour_window(const WindowRequest& request);

}  // namespace cavigram
