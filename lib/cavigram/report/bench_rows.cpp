// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/bench_rows_detail.h"

namespace cavigram {

namespace {

std::string minutes(double seconds) {
    return significant(seconds / 60.0, 2);
}

struct Line {
    double at_s = 0.0;
    std::string text;
};

// "  12 to  17 s  pour into the open half    poured by 30 s". Whole seconds, as a clock on the wall
// shows them: a deadline is rounded down and the end of a step up, so that neither promises time
// that is not there.
Line step_line(const BenchStep& step) {
    Line line{step.start_s,
              fmt::format("{:4.0f} to {:4.0f} s  ", std::ceil(step.start_s - 1e-9) + 0.0,
                          std::ceil(step.end_s - 1e-9))};
    line.text += step.deadline ? fmt::format("{:37} ", step.name) : step.name;
    if (step.deadline) {
        line.text +=
            fmt::format("{} by {:.0f} s", to_text(*step.deadline), std::floor(step.by_s + 1e-9));
        if (step.end_s > step.by_s) {
            line.text += ": TOO LATE by " + significant(step.end_s - step.by_s, 2) + " s";
        }
    }
    return line;
}

void time_line(Page& page, const BenchPlan& bench, const MethodBudget& chosen, bool is_detail) {
    std::vector<Line> lines;
    for (const BenchStep& step : chosen.steps) {
        lines.push_back(step_line(step));
    }
    const auto event = [&](double at_s, const char* what) {
        lines.push_back({at_s, fmt::format("{:12.0f} s  {}", std::floor(at_s + 1e-9), what)});
    };
    event(bench.work_time_s, "work time ends");
    if (bench.foam_at_top_s) {
        event(*bench.foam_at_top_s, "foam at the highest vent");
    }
    event(bench.most_pressure_s, bench.foam_at_top_s ? "it presses most" : "it has risen");
    std::stable_sort(lines.begin(), lines.end(),
                     [](const Line& a, const Line& b) { return a.at_s < b.at_s; });
    for (const Line& line : lines) {
        page.add("", line.text, is_detail);
    }
    page.row("Open after", fmt::format("{} to {} min, when the leftover in the cup is firm",
                                       minutes(bench.demold_min_s), minutes(bench.demold_max_s)));
    const char* const deadline = to_text(bench.tightest);
    const char* const what = bench.tightest == Deadline::covered ? "the hole" : "it";
    page.row("Spare", bench.spare_s >= 0.0
                          ? fmt::format("{} s, until {} must be {}", significant(bench.spare_s, 2),
                                        what, deadline)
                          : fmt::format("none: {} is {} {} s TOO LATE", what, deadline,
                                        significant(-bench.spare_s, 2)));
}

void method_rows(Page& page, const BenchPlan& bench, bool is_short) {
    page.row("Pour", method_words(bench.method));
    for (const MethodBudget& method : bench.methods) {
        if (method.method != bench.method) {
            page.add("",
                     std::string(short_words(method.method)) +
                         (method.why_not.empty()
                              ? " fits, with " + significant(method.spare_s, 2) + " s to spare"
                              : " does not fit: " + method.why_not),
                     is_short);
        }
    }
}

// Cups that follow one another belong to one part: when each is stirred, and whether that fits.
void cups_row(Page& page, const MethodBudget& chosen, int cups) {
    if (cups < 2) {
        return;
    }
    std::string starts;
    for (const BenchStep& step : chosen.steps) {
        if (step.kind == StepKind::stir) {
            starts += (starts.empty() ? "" : ", ") + fmt::format("{:.0f} s", step.start_s);
        }
    }
    page.row("Cups", fmt::format("{} for each part, stirred one after another by one person, from "
                                 "{}: {}",
                                 cups, starts,
                                 chosen.possible && chosen.spare_s >= 0.0 ? "that fits"
                                                                          : "that does not fit"));
}

}  // namespace

const char* method_words(PourMethod method) {
    switch (method) {
        case PourMethod::through_hole:
            return "through the pour hole of the closed, strapped mold";
        case PourMethod::open_half_and_turn:
            return "into the open half; close, turn over held tight, strap";
        case PourMethod::brush_first:
            return "brush both halves, pour into the open one; close, turn over held tight, strap";
    }
    return "";
}

const char* short_words(PourMethod method) {
    switch (method) {
        case PourMethod::through_hole:
            return "through the hole";
        case PourMethod::open_half_and_turn:
            return "into the open half";
        case PourMethod::brush_first:
            return "brushing first";
    }
    return "";
}

std::string also_clock_words(const BenchPlan& clock) {
    const Vec3& up = clock.request.up;
    std::string text = "the liquid stands " + length_text(clock.liquid_depth_mm) + " deep with " +
                       up_text(up.x(), up.y(), up.z()) + " up";
    if (clock.method != PourMethod::through_hole) {
        text += fmt::format("; closed by {:.0f} s, turned by {:.0f} s", clock.closed_by_s,
                            clock.turned_by_s);
    }
    return text + (clock.spare_s >= 0.0
                       ? fmt::format("; {} s to spare", significant(clock.spare_s, 2))
                       : fmt::format("; {} s TOO LATE", significant(-clock.spare_s, 2)));
}

void bench_rows(Page& page, const Plan& plan, bool is_short) {
    const BenchPlan& bench = *plan.bench;
    page.row("Clock", significant(bench.work_time_s, 3) + " s of work time at " +
                          told(bench.temperature_c, Kind::temperature) +
                          ", from the start of stirring");
    const auto chosen =
        std::find_if(bench.methods.begin(), bench.methods.end(),
                     [&](const MethodBudget& m) { return m.method == bench.method; });
    time_line(page, bench, *chosen, is_short);
    cups_row(page, *chosen, bench.request.cups);
    method_rows(page, bench, is_short);
    if (bench.method != PourMethod::through_hole && bench.request.open_half_mm3 > 0.0) {
        page.add("Open half",
                 "holds " + told(bench.request.open_half_mm3, Kind::volume, 2) +
                     (bench.request.parted ? ", up to the lowest place of its parting line"
                                           : ", if the mold is parted at the middle of its height"),
                 is_short);
    }
    if (bench.hole_needed_mm > 0.0 && bench.request.has_pour_hole) {
        const std::string least =
            told_own(std::ceil(2.0 * bench.hole_needed_mm - 1e-9) / 2.0, Kind::length, 3);
        page.add(
            "Pour hole",
            bench.method == PourMethod::through_hole
                ? fmt::format("any of {} or wider lets the liquid in on time; the times above "
                              "are for {} ({})",
                              least, told_own(bench.request.pour_hole_width_mm, Kind::length, 3),
                              setting("pour-hole-width"))
                : fmt::format("poured through a hole instead, any of {} or wider would let "
                              "the liquid in on time",
                              least),
            is_short);
    }
    const Vec3& up = bench.request.up;
    std::string level = "with " + up_text(up.x(), up.y(), up.z()) + " up the liquid stands " +
                        length_text(bench.liquid_depth_mm) + " deep before it rises";
    if (bench.method != PourMethod::through_hole) {
        level += "; turning the mold leaves a film of about " +
                 told_own(bench.film_mm, Kind::length, 1) + " on walls that it wets";
    }
    page.detail("Level", level);
    for (const AlsoPoured& other : plan.foam->also) {
        if (other.clock) {
            page.row(&other == &plan.foam->also.front() ? "Also" : "",
                     other.input.file + ": " + also_clock_words(*other.clock));
        }
    }
}

}  // namespace cavigram
