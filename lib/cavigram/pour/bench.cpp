// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/bench.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/venting/vent_flow.h"

namespace cavigram {

namespace {

constexpr std::array kMethods = {PourMethod::through_hole, PourMethod::open_half_and_turn,
                                 PourMethod::brush_first};
// Of equal fit: wetting both halves gives the better surface; brushing costs time and is for fine
// detail.
constexpr std::array kPreferred = {PourMethod::open_half_and_turn, PourMethod::through_hole,
                                   PourMethod::brush_first};

void check(double value, const char* what, double least) {
    if (!(value >= least) || !std::isfinite(value)) {
        throw InvalidInput(format("%s is %s; give %s or more.", what, significant(value, 3).c_str(),
                                  significant(least, 3).c_str()));
    }
}

void validate(const BenchRequest& r) {
    check(r.times.stir_s, "The stirring time in s", 0.0);
    check(r.times.empty_cup_s, "The time to empty the cup in s", 0.0);
    check(r.times.close_s, "The closing time in s", 0.0);
    check(r.times.strap_s, "The strapping time in s", 0.0);
    check(r.times.turn_s, "The turning time in s", 0.0);
    check(r.times.brush_cm2_s, "The brushing speed in cm2/s", 0.1);
    check(r.pour_mass_g, "The pour's mass in g", 1e-6);
    check(r.liquid_kg_m3, "The liquid's density in kg/m3", 100.0);
    check(r.viscosity_pa_s, "The viscosity in Pa s", 1e-4);
    check(r.pour_hole_mm, "The pour hole in mm", 0.1);
    check(r.hole_length_mm, "The pour hole's length in mm", 0.1);
    check(r.funnel_head_mm, "The funnel's head in mm", 0.0);
}

double hole_pour_s(const BenchRequest& r, double hole_mm) {
    const Hole hole{.diameter_mm = hole_mm, .length_mm = r.hole_length_mm};
    const Fluid liquid{r.liquid_kg_m3, r.viscosity_pa_s};
    return r.pour_mass_g / r.liquid_kg_m3 * 1000.0 / pour_flow_ml_s(hole, liquid, r.funnel_head_mm);
}

MethodBudget budget(PourMethod method, const BenchRequest& r, double work_time_s) {
    MethodBudget b;
    b.method = method;
    const BenchTimes& t = r.times;
    b.steps.push_back({"stir", t.stir_s});
    if (method == PourMethod::through_hole) {
        b.steps.push_back({"pour through the hole", hole_pour_s(r, r.pour_hole_mm)});
        b.steps.push_back({"cover the hole", t.plug_s});
    } else {
        if (method == PourMethod::brush_first) {
            b.steps.push_back({"brush both halves", r.area_mm2 / 100.0 / t.brush_cm2_s});
        }
        b.steps.push_back({"pour into the open half", t.empty_cup_s});
        b.steps.push_back({"close", t.close_s});
        b.steps.push_back({"strap", t.strap_s});
        b.steps.push_back({"turn over", t.turn_s});
        const double liquid_mm3 = r.pour_mass_g / r.liquid_kg_m3 * 1e6;
        if (r.lower_half_mm3 > 0.0 && liquid_mm3 > r.lower_half_mm3) {
            b.possible = false;
            b.why_not = format("the open half holds %s mL and the liquid has %s",
                               significant(r.lower_half_mm3 / 1000.0, 3).c_str(),
                               significant(liquid_mm3 / 1000.0, 3).c_str());
        }
    }
    for (const BenchStep& step : b.steps) {
        b.total_s += step.seconds;
    }
    b.spare_s = work_time_s - b.total_s;
    if (b.possible && b.spare_s < 0.0) {
        b.why_not = format("it takes %s s and there are %s", significant(b.total_s, 3).c_str(),
                           significant(work_time_s, 3).c_str());
    }
    return b;
}

const MethodBudget& of(const std::vector<MethodBudget>& methods, PourMethod method) {
    return *std::find_if(methods.begin(), methods.end(),
                         [&](const MethodBudget& b) { return b.method == method; });
}

PourMethod choose(const std::vector<MethodBudget>& methods) {
    for (const PourMethod method : kPreferred) {
        if (of(methods, method).possible && of(methods, method).spare_s >= 0.0) {
            return method;
        }
    }
    // None fits: the one that misses by least.
    const MethodBudget* best = &of(methods, PourMethod::through_hole);
    for (const MethodBudget& b : methods) {
        if (b.possible && b.spare_s > best->spare_s) {
            best = &b;
        }
    }
    return best->method;
}

// The hole through which the pour takes just the time that is left; 0 if none is left.
double hole_needed_mm(const BenchRequest& r, double work_time_s) {
    const double left_s = work_time_s - r.times.stir_s - r.times.plug_s;
    if (left_s <= 0.0) {
        return 0.0;
    }
    double low = 0.1;
    double high = 500.0;
    while (high - low > 1e-6) {
        const double middle = 0.5 * (low + high);
        (hole_pour_s(r, middle) > left_s ? low : high) = middle;
    }
    return high;
}

void note(BenchPlan& plan, const BenchRequest& r, const MethodBudget& chosen) {
    if (!chosen.possible || chosen.spare_s < 0.0) {
        plan.findings.push_back(
            {Severity::stop,
             "no_time",
             format("%s does not work out: %s; pour warmer or colder, pour less at once, or "
                    "prepare so that a step takes less.",
                    chosen.method == PourMethod::through_hole ? "Pouring through the hole"
                                                              : "Pouring into the open half",
                    chosen.why_not.c_str()),
             {}});
    } else if (chosen.spare_s < 0.1 * plan.work_time_s) {
        plan.findings.push_back({Severity::warning,
                                 "little_time",
                                 format("Only %s s are to spare; rehearse the steps dry.",
                                        significant(chosen.spare_s, 2).c_str()),
                                 {}});
    }
    const MethodBudget& hole = of(plan.methods, PourMethod::through_hole);
    if (chosen.method == PourMethod::through_hole && hole.spare_s < 0.0 &&
        plan.hole_needed_mm > 0.0) {
        plan.findings.push_back(
            {Severity::warning,
             "pour_hole_narrow",
             format("The pour hole is too narrow: %s mm takes %s s; %s mm or wider would do.",
                    significant(r.pour_hole_mm, 3).c_str(), significant(plan.pour_s, 3).c_str(),
                    significant(plan.hole_needed_mm, 3).c_str()),
             {}});
    }
}

}  // namespace

const char* to_text(PourMethod method) {
    switch (method) {
        case PourMethod::through_hole:
            return "through_hole";
        case PourMethod::open_half_and_turn:
            return "open_half_and_turn";
        case PourMethod::brush_first:
            return "brush_first";
    }
    return "through_hole";
}

PourMethod parse_pour_method(std::string_view text, std::string_view name) {
    for (const PourMethod method : kMethods) {
        if (text == to_text(method)) {
            return method;
        }
    }
    throw InvalidInput(format(
        "%.*s is \"%.*s\"; give through_hole, open_half_and_turn or brush_first.",
        static_cast<int>(name.size()), name.data(), static_cast<int>(text.size()), text.data()));
}

BenchPlan bench_plan(const FoamCard& card, const BenchRequest& request) {
    validate(request);
    BenchPlan plan;
    plan.request = request;
    plan.temperature_c = request.temperature_c;
    const auto today = [&](double seconds) {
        return time_at_temperature_s(seconds, card.at_c, request.temperature_c, request.rule);
    };
    plan.work_time_s = today(card.work_time_s);
    plan.demold_min_s = today(card.demold_min_s);
    plan.demold_max_s = today(card.demold_max_s);
    for (const PourMethod method : kMethods) {
        plan.methods.push_back(budget(method, request, plan.work_time_s));
    }
    plan.method = request.method.value_or(choose(plan.methods));
    const MethodBudget& chosen = of(plan.methods, plan.method);
    plan.mix_s = request.times.stir_s;
    plan.spare_s = chosen.spare_s;
    for (const BenchStep& step : chosen.steps) {
        if (step.name.rfind("pour", 0) == 0 || step.name.rfind("brush", 0) == 0) {
            plan.pour_s += step.seconds;
        }
    }
    plan.close_s = chosen.total_s - plan.mix_s - plan.pour_s;
    plan.liquid_depth_mm = request.liquid_depth_mm;
    if (request.wall_mm > 0.0) {
        plan.film_mm = drained_film_mm(request.viscosity_pa_s, request.liquid_kg_m3,
                                       request.wall_mm, kDrainTime_s);
    }
    const Hole hole{.diameter_mm = request.pour_hole_mm, .length_mm = request.hole_length_mm};
    const Fluid liquid{request.liquid_kg_m3, request.viscosity_pa_s};
    plan.hole_flow_ml_s = pour_flow_ml_s(hole, liquid, request.funnel_head_mm);
    plan.hole_reynolds = reynolds(hole, liquid, plan.hole_flow_ml_s);
    plan.hole_needed_mm = hole_needed_mm(request, plan.work_time_s);
    note(plan, request, chosen);
    return plan;
}

double drained_film_mm(double viscosity_pa_s, double liquid_kg_m3, double wall_mm, double drain_s) {
    constexpr double kGravity = 9.80665;
    // The film at depth x below the top is sqrt(mu x/(rho g t)); its mean over the wall is 2/3 of
    // that at the foot.
    return 2.0 / 3.0 * 1000.0 *
           std::sqrt(viscosity_pa_s * wall_mm / 1000.0 / (liquid_kg_m3 * kGravity * drain_s));
}

}  // namespace cavigram
