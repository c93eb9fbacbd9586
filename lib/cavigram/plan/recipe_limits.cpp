// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/recipe_limits.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/limits.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

// Nothing can be planned for a part of which half may not be there.
constexpr double kHopelessVolume = 2.0;

bool hopeless(const MeasuresBlock& m) {
    return m.volume_high_mm3 > kHopelessVolume * m.volume_low_mm3;
}

std::string lowest_told(const MeasuresBlock& m) {
    constexpr double kNothing = 1e-3;  // of the largest
    return m.volume_low_mm3 < kNothing * m.volume_high_mm3 ? "next to nothing"
                                                           : told(m.volume_low_mm3, Kind::volume);
}

void judge_volume(const Plan& plan, std::vector<Finding>& findings) {
    const MeasuresBlock& m = plan.measures;
    if (hopeless(m)) {
        return;  // told where it was measured
    }
    const Ranged& packing = plan.foam->card.packing;
    // The pour that packs the largest cavity `low` times packs the smallest `high` times at most.
    if (m.volume_high_mm3 * packing.low > m.volume_low_mm3 * packing.high) {
        findings.push_back(
            {Severity::stop,
             "volume_unsure",
             fmt::format("The part may hold anything from {} to {}: a pour that fills the one "
                         "bursts the other; mend the mesh in a modeler, or scan the part again.",
                         told(m.volume_low_mm3, Kind::volume),
                         told(m.volume_high_mm3, Kind::volume)),
             {}});
    }
}

void judge_skin(const Plan& plan, std::vector<Finding>& findings) {
    const FoamBlock& foam = *plan.foam;
    if (!(foam.skin.error_share > kWorstSkinShare)) {
        return;
    }
    findings.push_back(
        {Severity::stop,
         "skin_unsure",
         fmt::format("The skin's volume is known to {} % only with cells of {}; {} {}.",
                     significant(100.0 * foam.skin.error_share, 2),
                     told(foam.skin.depth.cell_mm, Kind::length),
                     plan.request.foam.cell_mm ? "have cells chosen that resolve it, without"
                                               : "give a finer",
                     setting("cell")),
         {}});
}

void judge_cup(const Plan& plan, std::vector<Finding>& findings) {
    const Batch& batch = plan.foam->batch;
    if (plan.request.foam.largest_batch_g || batch.pour_mass_g <= kStirredByHand_g) {
        return;
    }
    findings.push_back(
        {Severity::stop,
         "too_much_at_once",
         fmt::format("One cup of {} is more than a hand stirs evenly before such a foam rises, "
                     "about {}; say how much you stir and pour in time ({}), and it is parted "
                     "into cups, or check the part's size.",
                     told(batch.pour_mass_g, Kind::mass), told(kStirredByHand_g, Kind::mass),
                     setting("largest-batch")),
         {}});
}

void judge_pressure(const Plan& plan, std::vector<Finding>& findings) {
    const PourWindow& window = plan.foam->window;
    if (window.pressure_kpa <= std::max(kStrappedByHand_kpa, window.request.mold_holds_kpa)) {
        return;
    }
    findings.push_back(
        {Severity::stop,
         "bursts_mold",
         fmt::format("The foam would press with about {}, and no mold that is strapped by hand "
                     "holds more than about {}; put less than {} into it, choose a denser mix, or "
                     "say what your mold is built for ({}).",
                     told(window.pressure_kpa, Kind::pressure, 2),
                     told(kStrappedByHand_kpa, Kind::pressure, 2),
                     told(window.presses_over_g, Kind::mass), setting("mold-holds")),
         {}});
}

}  // namespace

std::vector<Finding> measure_findings(const Plan& plan) {
    const MeasuresBlock& m = plan.measures;
    if (!hopeless(m)) {
        return {};
    }
    return {{Severity::stop,
             "volume_unsure",
             fmt::format("The part may hold anything from {} to {}: no figure here can be trusted; "
                         "mend the mesh in a modeler, or scan the part again.",
                         lowest_told(m), told(m.volume_high_mm3, Kind::volume)),
             {}}};
}

std::vector<Finding> recipe_findings(const Plan& plan) {
    std::vector<Finding> findings;
    judge_volume(plan, findings);
    judge_skin(plan, findings);
    judge_cup(plan, findings);
    judge_pressure(plan, findings);
    return findings;
}

}  // namespace cavigram
