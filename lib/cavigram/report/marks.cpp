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
                                     [](const Opening& o) { return o.pour_hole; });
    for (const Opening& opening : plan.air->openings) {
        if (opening.pour_hole) {
            marks.push_back({true, !opening.lets_air_out,
                             holes > 1 ? "P" + std::to_string(marks.size() + 1) : "P",
                             opening.place_mm,
                             plan.bench ? plan.bench->request.pour_hole_mm : 0.0});
        }
    }
    int number = 0;
    for (const SizedVent& vent : plan.air->vents) {
        marks.push_back({false, false, std::to_string(++number), vent.at_mm, vent.diameter_mm});
    }
    return marks;
}

}  // namespace cavigram
