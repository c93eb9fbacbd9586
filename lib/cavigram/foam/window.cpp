// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/window.h"

#include <algorithm>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/told.h"

namespace cavigram {

PourWindow pour_window(const WindowRequest& r) {
    PourWindow w;
    w.request = r;
    w.fills_from_low_g = kGramsPerMm3 * r.free_rise_kg_m3.low * r.volume_low_mm3;
    w.fills_from_g = kGramsPerMm3 * r.free_rise_kg_m3.value * r.volume_mm3;
    w.fills_from_high_g = kGramsPerMm3 * r.free_rise_kg_m3.high * r.volume_high_mm3;
    w.presses_over_g =
        kGramsPerMm3 * r.volume_mm3 *
        density_at_pressure_kg_m3(r.free_rise_kg_m3.value, r.mold_holds_kpa, r.air_kpa);
    const double mean =
        std::min(r.planned_g / (kGramsPerMm3 * r.volume_mm3), kPolymer_kg_m3 * (1.0 - 1e-9));
    w.pressure_kpa = gas_pressure_kpa(r.free_rise_kg_m3.value, mean, kPolymer_kg_m3, r.air_kpa);
    w.strap_for_kpa = kPressureReserve * w.pressure_kpa;
    constexpr double kRounding = 1e-12;
    constexpr double kTold = 0.005;  // Less does not show in three figures.
    if (r.planned_g >= w.fills_from_g * (1.0 - kRounding) &&
        r.planned_g < w.fills_from_high_g * (1.0 - kTold)) {
        w.findings.push_back(
            {Severity::warning,
             "may_fall_short",
             fmt::format(
                 "If this foam rises as little as it may, the mold fills only from {} and "
                 "{} are planned; pour that much, or weigh what rises in a cup and give its "
                 "density.",
                 told_own(w.fills_from_high_g, Kind::mass, 3),
                 told_own(r.planned_g, Kind::mass, 3)),
             {}});
    }
    if (r.planned_g > w.presses_over_g * (1.0 + kRounding)) {
        w.findings.push_back(
            {Severity::warning,
             "high_pressure",
             fmt::format("The foam will press with about {} and the mold is taken to hold "
                         "{}; pour less than {} into it, choose a denser mix, or strap it for {} "
                         "and say so ({}).",
                         told(w.pressure_kpa, Kind::pressure, 2),
                         told_own(r.mold_holds_kpa, Kind::pressure, 2),
                         told_own(w.presses_over_g, Kind::mass, 3),
                         told_own(w.strap_for_kpa, Kind::pressure, 2), setting("mold-holds")),
             {}});
    }
    return w;
}

}  // namespace cavigram
