// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/report/marks_detail.h"

namespace cavigram {

std::vector<Mark> marks_of(const Plan& plan) {
    std::vector<Mark> marks;
    if (!plan.air) {
        return marks;
    }
    const auto holes = std::count_if(plan.air->openings.begin(), plan.air->openings.end(),
                                     [](const SizedOpening& o) { return o.opening.pour_hole; });
    for (std::size_t i = 0; i < plan.air->openings.size(); ++i) {
        const Opening& opening = plan.air->openings[i].opening;
        if (opening.pour_hole) {
            // One that is not poured through is drilled as a vent.
            const bool wide = !plan.bench || plan.bench->method == PourMethod::through_hole ||
                              opening.given || !opening.lets_air_out;
            marks.push_back({true, i, !opening.lets_air_out,
                             holes > 1 ? "P" + std::to_string(marks.size() + 1) : "P",
                             opening.place_mm,
                             wide ? plan.air->pour_hole_mm : plan.air->openings[i].diameter_mm});
        }
    }
    for (std::size_t i = 0; i < plan.air->vents.size(); ++i) {
        const SizedVent& vent = plan.air->vents[i];
        marks.push_back({false, i, false, std::to_string(i + 1), vent.at_mm, vent.diameter_mm});
    }
    return marks;
}

}  // namespace cavigram
