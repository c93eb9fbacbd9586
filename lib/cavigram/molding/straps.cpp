// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/straps.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/limits.h"
#include "cavigram/core/told.h"
#include "cavigram/foam/pressure.h"

namespace cavigram {

namespace {

// A force as a person feels it: what would weigh as much.
std::string told_force(double force_n) {
    return told(1000.0 * force_n / kGravity_m_s2, Kind::mass, 2);
}

int straps_needed(const Straps& s) {
    const StrapRequest& r = s.request;
    const double by_load = s.planned_force_n * r.safety / (2.0 * s.leg_holds_n);
    const double by_pitch = r.run_mm / kWidestPitch_mm;
    // A mold too large for any number of straps must not overflow one.
    constexpr double kMost = 10'000.0;
    constexpr double kRounding = 1e-9;
    return static_cast<int>(
        std::clamp(std::ceil(std::max(by_load, by_pitch) - kRounding), 2.0, kMost));
}

void judge(Straps& s, int needed) {
    const StrapRequest& r = s.request;
    if (s.straps == 0) {
        if (s.opening_force_n > 0.0) {
            s.findings.push_back(
                {Severity::stop,
                 "no_straps",
                 fmt::format(
                     "Nothing holds the mold closed, and the foam opens it as a weight of {} "
                     "would; strap it, with {} or more ({}).",
                     told_force(s.opening_force_n), needed, setting("straps")),
                 {}});
        }
        return;
    }
    if (s.pitch_mm < kClosestPitch_mm && needed > 2) {
        s.findings.push_back(
            {Severity::stop,
             "straps_crowded",
             fmt::format("{} straps would lie {} apart, closer than straps can; use stronger ones "
                         "({}), pack the foam less, or clamp the mold between plates.",
                         s.straps, told(s.pitch_mm, Kind::length, 2), setting("strap-holds")),
             {}});
    }
    if (s.straps < needed) {
        s.findings.push_back(
            {Severity::warning,
             "straps_too_few",
             fmt::format("{} straps hold {} with safety, and they are planned for {}; use {} or "
                         "stronger ones ({}).",
                         s.straps, told_own(s.holds_kpa, Kind::pressure, 2),
                         told_own(r.strap_for_kpa, Kind::pressure, 2), needed,
                         setting("strap-holds")),
             {}});
    }
}

}  // namespace

Straps plan_straps(const StrapRequest& r) {
    Straps s;
    s.request = r;
    s.opening_force_n = opening_force_n(r.pressure_kpa, r.projected_area_mm2);
    s.planned_force_n = opening_force_n(r.strap_for_kpa, r.projected_area_mm2);
    s.leg_holds_n = r.holds_n.value_or(kStrapHolds_n);
    const int needed = straps_needed(s);
    s.straps = r.straps.value_or(needed);
    if (s.straps > 0) {
        s.leg_load_n = strap_leg_load_n(s.opening_force_n, s.straps, 1.0);
        s.leg_needed_n = strap_leg_load_n(s.planned_force_n, s.straps, r.safety);
        s.pitch_mm = r.run_mm / s.straps;
        // The pressure at which leg_load times safety is what a leg holds; 1 kPa on 1 mm2 is 1 mN.
        const double most_n = 2.0 * s.straps * s.leg_holds_n / r.safety;
        s.holds_kpa = std::min(kStrappedByHand_kpa, most_n / (1e-3 * r.projected_area_mm2));
        if (!r.holds_n) {
            s.holds_kpa = std::min(s.holds_kpa, r.strap_for_kpa);
        }
    }
    judge(s, needed);
    return s;
}

}  // namespace cavigram
