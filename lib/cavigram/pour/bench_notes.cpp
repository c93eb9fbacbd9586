// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/pour/bench_notes_detail.h"

namespace cavigram::detail {

namespace {

// Of equal fit: wetting both halves gives the better surface; brushing costs time and is for fine
// detail.
constexpr std::array kPreferred = {PourMethod::open_half_and_turn, PourMethod::through_hole,
                                   PourMethod::brush_first};

bool fits(const MethodBudget& b) {
    return b.possible && b.spare_s >= 0.0;
}

const char* words_of(PourMethod method) {
    switch (method) {
        case PourMethod::through_hole:
            return "pouring through the hole";
        case PourMethod::open_half_and_turn:
            return "pouring into the open half";
        case PourMethod::brush_first:
            return "brushing first";
    }
    return "";
}

// The next size up in half millimeters, as drills come (common practice, no source).
std::string hole_words(double hole_mm) {
    const double drill_mm = std::ceil(2.0 * hole_mm - 1e-9) / 2.0;
    const int whole = 1 + static_cast<int>(std::floor(std::log10(std::max(1.0, drill_mm))));
    return told_own(drill_mm, Kind::length, drill_mm == std::floor(drill_mm) ? whole : whole + 1);
}

// What helps with what is missed. Heating is never among it: it shortens every time.
std::string remedies(const BenchPlan& plan, const MethodBudget& chosen) {
    const BenchRequest& r = plan.request;
    std::vector<std::string> help;
    const std::optional<PourMethod> other = first_that_fits(plan.methods);
    if (other) {
        help.push_back(
            fmt::format("{} fits ({} {})", words_of(*other), setting("method"), to_text(*other)));
    }
    if (!chosen.possible) {
        help.push_back(chosen.method == PourMethod::through_hole
                           ? r.has_pour_hole ? "make the hole narrower" : "make a pour hole"
                           : "part the mold so that this half holds more");
    } else {
        if (chosen.method == PourMethod::through_hole &&
            plan.hole_needed_mm > r.pour_hole_width_mm) {
            help.push_back(fmt::format("make the hole {} wide", hole_words(plan.hole_needed_mm)));
        }
        if (r.molds > 1) {
            help.push_back("pour less at once: fewer molds from one cup");
        }
        if (r.cups > 1) {
            help.push_back("let a second pair of hands stir the next cup meanwhile");
        } else if (chosen.tightest != Deadline::poured ||
                   chosen.method == PourMethod::brush_first) {
            help.push_back("have a second pair of hands");
        }
        help.push_back("take a slower foam");
        help.push_back("or cool the liquids, with a trial in a cup first");
    }
    std::string text;
    for (const std::string& one : help) {
        text += (text.empty() ? "" : ", ") + one;
    }
    return text;
}

void note_time(BenchPlan& plan, const MethodBudget& chosen) {
    const BenchRequest& r = plan.request;
    if (!fits(chosen)) {
        std::string what = words_of(chosen.method);
        what.front() = what.front() == 'p' ? 'P' : 'B';  // pouring, brushing
        plan.findings.push_back({Severity::stop,
                                 "no_time",
                                 fmt::format("{} does not work out: {}; {}.", what, chosen.why_not,
                                             remedies(plan, chosen)),
                                 {}});
    } else if (chosen.spare_s < 0.1 * plan.work_time_s) {
        plan.findings.push_back(
            {Severity::warning,
             "little_time",
             fmt::format("Only {} s are to spare until {} must be {}; rehearse the steps dry.",
                         significant(chosen.spare_s, 2),
                         chosen.tightest == Deadline::covered ? "the hole" : "it",
                         to_text(chosen.tightest)),
             {}});
    }
    if (chosen.method == PourMethod::through_hole && chosen.possible && chosen.spare_s < 0.0 &&
        plan.hole_needed_mm > r.pour_hole_width_mm) {
        plan.findings.push_back(
            {Severity::warning,
             "pour_hole_narrow",
             fmt::format("The pour hole is too narrow: {} takes {} s; {} or wider would do.",
                         told_own(r.pour_hole_width_mm, Kind::length, 3),
                         significant(plan.pour_s, 3), hole_words(plan.hole_needed_mm)),
             {}});
    }
}

}  // namespace

std::optional<PourMethod> first_that_fits(const std::vector<MethodBudget>& methods) {
    for (const PourMethod method : kPreferred) {
        const auto found = std::find_if(methods.begin(), methods.end(),
                                        [&](const MethodBudget& b) { return b.method == method; });
        if (found != methods.end() && fits(*found)) {
            return method;
        }
    }
    return std::nullopt;
}

void note(BenchPlan& plan, const MethodBudget& chosen) {
    const BenchRequest& r = plan.request;
    note_time(plan, chosen);
    if (chosen.method != PourMethod::through_hole) {
        plan.findings.push_back(
            {Severity::note,
             "hold_while_turning",
             fmt::format("The halves are turned before they are strapped: hold them tight, with "
                         "gloves on, by a quick clamp or a second pair of hands; a mold too heavy "
                         "for that is strapped first (add its straps to {} and give {} 0s).",
                         setting("close"), setting("strap")),
             {}});
    }
    if (r.mold_temperature_c &&
        std::abs(*r.mold_temperature_c - r.temperature_c) > kMoldDifference_k) {
        plan.findings.push_back(
            {Severity::note,
             "mold_temperature",
             fmt::format(
                 "The mold is at {} and the liquids at {}: the times follow the liquids, "
                 "and what such a wall does to skin and surface can't be foretold; bring the "
                 "mold to the liquids' temperature, and rehearse with one casting.",
                 told_own(*r.mold_temperature_c, Kind::temperature, 3),
                 told_own(r.temperature_c, Kind::temperature, 3)),
             {}});
    }
}

}  // namespace cavigram::detail
