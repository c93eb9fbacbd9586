// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/bench.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/pour/bench_notes_detail.h"
#include "cavigram/venting/vent_flow.h"

namespace cavigram {

namespace {

constexpr std::array kMethods = {PourMethod::through_hole, PourMethod::open_half_and_turn,
                                 PourMethod::brush_first};

// `kind`: of the value; none where its name says the unit.
void check(double value, const char* what, double least, std::optional<Kind> kind = std::nullopt) {
    if (value >= least && std::isfinite(value)) {
        return;
    }
    const auto words = [&](double v) {
        return kind && std::isfinite(v) ? told_own(v, *kind, 3) : significant(v, 3);
    };
    throw InvalidInput(fmt::format("{} is {}; give {} or more.", what, words(value), words(least)));
}

void validate_counts(const BenchRequest& r) {
    if (r.cups < 1 || r.molds < 1) {
        throw InvalidInput(fmt::format(
            "A pour of {} cups for {} molds makes no sense; give 1 or more.", r.cups, r.molds));
    }
    if (r.open_half_mm3 > r.cavity_mm3 && r.cavity_mm3 > 0.0) {
        throw InvalidInput(fmt::format(
            "The open half holds {} mL and the whole mold {}; correct one.",
            significant(r.open_half_mm3 / 1000.0, 3), significant(r.cavity_mm3 / 1000.0, 3)));
    }
}

void validate(const BenchRequest& r) {
    check(r.times.stir_s, "The stirring time in s", 0.0);
    check(r.times.empty_cup_s, "The time to empty the cup in s", 0.0);
    check(r.times.close_s, "The closing time in s", 0.0);
    check(r.times.strap_s, "The strapping time in s", 0.0);
    check(r.times.turn_s, "The turning time in s", 0.0);
    check(r.times.plug_s, "The time to cover the hole in s", 0.0);
    check(r.times.turn_grace_s, "The grace for turning in s", 0.0);
    check(r.times.brush_cm2_s, "The brushing speed in cm2/s", 0.1);
    check(r.pour_mass_g, "The pour's mass", 1e-6, Kind::mass);
    check(r.liquid_kg_m3, "The liquid's density", 100.0, Kind::density);
    check(r.viscosity_pa_s, "The viscosity in Pa s", 1e-4);
    check(r.pour_hole_width_mm, "The pour hole's width", 0.1, Kind::length);
    check(r.hole_length_mm, "The pour hole's length", 0.1, Kind::length);
    check(r.funnel_head_mm, "The funnel's head", 0.0, Kind::length);
    check(r.mold_mass_g.value_or(r.pour_mass_g), "The liquid of one mold", 1e-6, Kind::mass);
    check(r.packing_factor, "The packing factor", 1e-3);
    check(r.cavity_mm3, "The cavity", 0.0, Kind::volume);
    check(r.open_half_mm3, "The open half", 0.0, Kind::volume);
    check(r.area_mm2, "The area", 0.0, Kind::area);
    check(r.widest_hole_mm.value_or(1.0), "The width for a hole", 0.1, Kind::length);
    validate_counts(r);
}

// A cup is tipped into each mold, however fast it runs.
double tip_s(const BenchRequest& r) {
    return r.times.empty_cup_s * r.molds;
}

// One cup through holes of one width, one mold after another.
double hole_pour_s(const BenchRequest& r, double hole_mm) {
    const Hole hole{.diameter_mm = hole_mm, .length_mm = r.hole_length_mm};
    const Fluid liquid{r.liquid_kg_m3, r.viscosity_pa_s};
    const double cup_ml = r.pour_mass_g / r.cups / r.liquid_kg_m3 * 1000.0;
    return std::max(cup_ml / pour_flow_ml_s(hole, liquid, r.funnel_head_mm), tip_s(r));
}

double mold_liquid_mm3(const BenchRequest& r) {
    return r.mold_mass_g.value_or(r.pour_mass_g) / r.liquid_kg_m3 * 1e6;
}

void set_deadlines(BenchPlan& plan, const FoamCard& card) {
    const BenchRequest& r = plan.request;
    const auto today = [&](double seconds) {
        return time_at_temperature_s(seconds, card.at_c, r.temperature_c, r.rule);
    };
    const RiseClock clock({.work_s = today(card.work_time_s),
                           .risen_s = today(card.rise_time_s),
                           .expansion = r.expansion_ratio,
                           .curve = r.curve});
    if (card.demold_min_s < card.rise_time_s) {
        throw InvalidInput(fmt::format(
            "The foam's shortest time to open the mold, {} s, comes before it has risen at "
            "{} s; correct the foam card.",
            significant(card.demold_min_s, 3), significant(card.rise_time_s, 3)));
    }
    plan.work_time_s = clock.times().work_s;
    plan.poured_by_s = plan.work_time_s;
    const double final_mm3 = r.packing_factor * r.cavity_mm3;
    plan.closed_by_s = r.open_half_mm3 > 0.0 && final_mm3 > 0.0
                           ? clock.filled_by_s(r.open_half_mm3 / final_mm3)
                           : plan.work_time_s;
    plan.turned_by_s = plan.work_time_s + r.times.turn_grace_s;
    plan.strapped_by_s = clock.filled_by_s(1.0 / r.packing_factor);
    constexpr double kRounding = 1e-9;
    if (r.packing_factor >= 1.0 - kRounding) {
        plan.foam_at_top_s = plan.strapped_by_s;
    }
    plan.most_pressure_s = clock.times().risen_s;
    plan.demold_min_s = std::max(card.demold_min_s, today(card.demold_min_s));
    plan.demold_max_s = std::max(card.demold_max_s, today(card.demold_max_s));
}

double by_s(const BenchPlan& plan, Deadline deadline) {
    switch (deadline) {
        case Deadline::poured:
            return plan.poured_by_s;
        case Deadline::closed:
            return plan.closed_by_s;
        case Deadline::turned:
            return plan.turned_by_s;
        case Deadline::strapped:
        case Deadline::covered:
            return plan.strapped_by_s;
    }
    return 0.0;
}

// One pair of hands: a step begins when the one before it ends.
void add_step(MethodBudget& b, const BenchPlan& plan, StepKind kind, std::string name,
              double seconds, std::optional<Deadline> deadline = std::nullopt) {
    BenchStep step;
    step.kind = kind;
    step.name = std::move(name);
    step.seconds = seconds;
    step.start_s = b.total_s;
    step.end_s = b.total_s + seconds;
    step.deadline = deadline;
    if (deadline) {
        step.by_s = by_s(plan, *deadline);
        const double slack = step.by_s - step.end_s;
        if (slack < b.spare_s) {
            b.spare_s = slack;
            b.tightest = *deadline;
        }
    }
    b.total_s = step.end_s;
    b.steps.push_back(std::move(step));
}

// Each cup is stirred and poured before the next; what is brushed comes out of the first.
void add_cups(MethodBudget& b, const BenchPlan& plan) {
    const BenchRequest& r = plan.request;
    const bool hole = b.method == PourMethod::through_hole;
    const char* const where = hole          ? r.molds > 1 ? "through the holes" : "through the hole"
                              : r.molds > 1 ? "into the open halves"
                                            : "into the open half";
    const double pour_s = hole ? hole_pour_s(r, r.pour_hole_width_mm) : tip_s(r);
    for (int cup = 1; cup <= r.cups; ++cup) {
        const std::string which = r.cups > 1 ? fmt::format(" cup {} of {}", cup, r.cups) : "";
        add_step(b, plan, StepKind::stir, "stir" + which, r.times.stir_s);
        if (b.method == PourMethod::brush_first && cup == 1) {
            add_step(b, plan, StepKind::brush, "brush both halves",
                     r.area_mm2 / 100.0 / r.times.brush_cm2_s);
        }
        add_step(b, plan, StepKind::pour, "pour" + which + " " + where, pour_s, Deadline::poured);
    }
}

void judge(MethodBudget& b, const BenchRequest& r) {
    if (b.method == PourMethod::through_hole) {
        if (!r.has_pour_hole) {
            b.possible = false;
            b.why_not = "the mold has no pour hole";
        } else if (r.widest_hole_mm && r.pour_hole_width_mm > *r.widest_hole_mm) {
            b.possible = false;
            b.why_not = fmt::format("a hole of {} is wider than the part, {}",
                                    told_own(r.pour_hole_width_mm, Kind::length, 3),
                                    told_own(*r.widest_hole_mm, Kind::length, 3));
        }
    } else if (r.open_half_mm3 > 0.0 && mold_liquid_mm3(r) > r.open_half_mm3) {
        b.possible = false;
        b.why_not = fmt::format("the open half holds {} mL and the liquid has {}",
                                significant(r.open_half_mm3 / 1000.0, 3),
                                significant(mold_liquid_mm3(r) / 1000.0, 3));
    }
    if (b.possible && b.spare_s < 0.0) {
        const auto late = std::find_if(b.steps.rbegin(), b.steps.rend(), [&](const BenchStep& s) {
            return s.deadline == b.tightest;
        });
        b.why_not = fmt::format("{}{} at {} s, {} s too late",
                                b.tightest == Deadline::poured && r.cups > 1
                                    ? fmt::format("the last of {} cups is ", r.cups)
                                    : std::string(),
                                to_text(b.tightest), significant(late->end_s, 3),
                                significant(-b.spare_s, 2));
    }
}

MethodBudget budget(PourMethod method, const BenchPlan& plan) {
    const BenchRequest& r = plan.request;
    const BenchTimes& t = r.times;
    const double molds = r.molds;
    const std::string all = r.molds > 1 ? fmt::format(" {} molds", r.molds) : "";
    MethodBudget b;
    b.method = method;
    b.spare_s = std::numeric_limits<double>::infinity();
    add_cups(b, plan);
    if (method == PourMethod::through_hole) {
        add_step(b, plan, StepKind::cover, r.molds > 1 ? "cover the holes" : "cover the hole",
                 molds * t.plug_s, Deadline::covered);
    } else {
        add_step(b, plan, StepKind::close, "close" + all, molds * t.close_s, Deadline::closed);
        add_step(b, plan, StepKind::turn, "turn" + all + " over, halves held tight",
                 molds * t.turn_s, Deadline::turned);
        add_step(b, plan, StepKind::strap, "strap" + all, molds * t.strap_s, Deadline::strapped);
    }
    judge(b, r);
    return b;
}

const MethodBudget& of(const std::vector<MethodBudget>& methods, PourMethod method) {
    return *std::find_if(methods.begin(), methods.end(),
                         [&](const MethodBudget& b) { return b.method == method; });
}

PourMethod choose(const std::vector<MethodBudget>& methods) {
    if (const std::optional<PourMethod> found = detail::first_that_fits(methods)) {
        return *found;
    }
    // None fits: the one that misses by least.
    const MethodBudget* best = nullptr;
    for (const MethodBudget& b : methods) {
        if (b.possible && (best == nullptr || b.spare_s > best->spare_s)) {
            best = &b;
        }
    }
    return best != nullptr ? best->method : PourMethod::through_hole;
}

// The hole through which the pour takes just the time that is left; 0 if none does that fits.
double hole_needed_mm(const BenchPlan& plan) {
    const BenchRequest& r = plan.request;
    const double left_s =
        std::min(plan.poured_by_s, plan.strapped_by_s - r.molds * r.times.plug_s) -
        r.cups * r.times.stir_s;
    if (left_s <= 0.0) {
        return 0.0;
    }
    double low = 0.1;
    double high = r.widest_hole_mm.value_or(500.0);
    if (r.cups * hole_pour_s(r, high) > left_s) {
        return 0.0;
    }
    while (high - low > 1e-6) {
        const double middle = 0.5 * (low + high);
        (r.cups * hole_pour_s(r, middle) > left_s ? low : high) = middle;
    }
    return high;
}

void take_chosen(BenchPlan& plan, const MethodBudget& chosen) {
    plan.spare_s = chosen.spare_s;
    plan.tightest = chosen.tightest;
    for (const BenchStep& step : chosen.steps) {
        switch (step.kind) {
            case StepKind::stir:
                plan.mix_s += step.seconds;
                break;
            case StepKind::brush:
            case StepKind::pour:
                plan.pour_s += step.seconds;
                break;
            default:
                plan.close_s += step.seconds;
        }
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
    return parse_choice<PourMethod>(
        text, name,
        {PourMethod::through_hole, PourMethod::open_half_and_turn, PourMethod::brush_first});
}

const char* to_text(StepKind kind) {
    switch (kind) {
        case StepKind::stir:
            return "stir";
        case StepKind::brush:
            return "brush";
        case StepKind::pour:
            return "pour";
        case StepKind::close:
            return "close";
        case StepKind::turn:
            return "turn";
        case StepKind::strap:
            return "strap";
        case StepKind::cover:
            return "cover";
    }
    return "stir";
}

const char* to_text(Deadline deadline) {
    switch (deadline) {
        case Deadline::poured:
            return "poured";
        case Deadline::closed:
            return "closed";
        case Deadline::turned:
            return "turned";
        case Deadline::strapped:
            return "strapped";
        case Deadline::covered:
            return "covered";
    }
    return "poured";
}

BenchPlan bench_plan(const FoamCard& card, const BenchRequest& request) {
    validate(request);
    BenchPlan plan;
    plan.request = request;
    plan.temperature_c = request.temperature_c;
    set_deadlines(plan, card);
    for (const PourMethod method : kMethods) {
        plan.methods.push_back(budget(method, plan));
    }
    plan.method = request.method.value_or(choose(plan.methods));
    const MethodBudget& chosen = of(plan.methods, plan.method);
    take_chosen(plan, chosen);
    plan.liquid_depth_mm = request.liquid_depth_mm;
    if (request.wall_mm > 0.0) {
        plan.film_mm = drained_film_mm(request.viscosity_pa_s, request.liquid_kg_m3,
                                       request.wall_mm, kDrainTime_s);
    }
    const Hole hole{.diameter_mm = request.pour_hole_width_mm, .length_mm = request.hole_length_mm};
    const Fluid liquid{request.liquid_kg_m3, request.viscosity_pa_s};
    plan.hole_flow_ml_s = pour_flow_ml_s(hole, liquid, request.funnel_head_mm);
    plan.hole_reynolds = reynolds(hole, liquid, plan.hole_flow_ml_s);
    plan.hole_needed_mm = hole_needed_mm(plan);
    detail::note(plan, chosen);
    return plan;
}

double drained_film_mm(double viscosity_pa_s, double liquid_kg_m3, double wall_mm, double drain_s) {
    // The film at depth x below the top is sqrt(mu x/(rho g t)); its mean over the wall is 2/3 of
    // that at the foot.
    return 2.0 / 3.0 * 1000.0 *
           std::sqrt(viscosity_pa_s * wall_mm / 1000.0 / (liquid_kg_m3 * kGravity_m_s2 * drain_s));
}

}  // namespace cavigram
