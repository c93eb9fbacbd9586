// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

namespace {

const std::vector<std::string>& deadline_words() {
    static const std::vector<std::string> words = {"poured", "closed", "turned", "strapped",
                                                   "covered"};
    return words;
}

const std::vector<std::string>& method_words() {
    static const std::vector<std::string> words = {"through_hole", "open_half_and_turn",
                                                   "brush_first"};
    return words;
}

const Block<BenchStep>& bench_step_block() {
    static const Block<BenchStep> block =
        Block<BenchStep>("BenchStep", "One thing to do; times from the start of stirring.")
            .choice(
                "kind", {"stir", "brush", "pour", "close", "turn", "strap", "cover"},
                [](const BenchStep& s) { return to_text(s.kind); }, "what")
            .field("name", &BenchStep::name, "in words")
            .field("seconds", &BenchStep::seconds, "how long it takes, in s")
            .field("start_s", &BenchStep::start_s, "when it begins")
            .field("end_s", &BenchStep::end_s, "when it is done")
            .choice(
                "deadline", deadline_words(),
                [](const BenchStep& s) {
                    return s.deadline ? std::optional(std::string(to_text(*s.deadline)))
                                      : std::nullopt;
                },
                "what must be done by then; null where nothing waits for it", true)
            .nullable(
                "by_s",
                [](const BenchStep& s) {
                    return s.deadline ? std::optional(s.by_s) : std::nullopt;
                },
                "by when");
    return block;
}

const Block<MethodBudget>& method_block() {
    static const Block<MethodBudget> block =
        Block<MethodBudget>("MethodBudget", "One way to pour, against its own deadlines.")
            .choice(
                "method", method_words(), [](const MethodBudget& m) { return to_text(m.method); },
                "which")
            .list("steps", bench_step_block(), &MethodBudget::steps, "in order of time")
            .field("total_s", &MethodBudget::total_s, "of all steps")
            .field("spare_s", &MethodBudget::spare_s, "least slack; negative: too late")
            .choice(
                "tightest", deadline_words(),
                [](const MethodBudget& m) { return to_text(m.tightest); },
                "the deadline of that slack")
            .field("possible", &MethodBudget::possible, "time aside")
            .field(
                "why_not", [](const MethodBudget& m) { return rendered(m.why_not); },
                "empty where it fits");
    return block;
}

std::vector<std::string> reasons_of(const ToldWayUp& way) {
    std::vector<std::string> words;
    for (const std::string& reason : way.row.reasons) {
        words.push_back(rendered(reason));
    }
    return words;
}

}  // namespace

const Block<ToldWayUp>& way_up_block() {
    const auto of = [](auto WayUp::*member) {
        return [member](const ToldWayUp& w) { return w.row.value.*member; };
    };
    const auto foot = [](auto Footing::*member) {
        return [member](const ToldWayUp& w) { return w.row.value.footing.*member; };
    };
    static const Block<ToldWayUp> block =
        Block<ToldWayUp>("WayUp", "One way up, and what it costs.")
            .field("up", of(&WayUp::up), "its direction")
            .field(
                "rank", [](const ToldWayUp& w) { return w.row.rank; }, "1: recommended")
            .field("vents_needed", of(&WayUp::vents_needed), "to leave no air worth counting")
            .field("vents_made", of(&WayUp::vents_made), "those, but no more than allowed")
            .field("trapped_unvented_mm3", of(&WayUp::unvented_mm3), "stays without vents")
            .field("trapped_vented_mm3", of(&WayUp::vented_mm3), "stays with those made")
            .field("trapped_leaning_mm3", of(&WayUp::worst_vented_mm3),
                   "the worst of eight sides at 3 degrees, with the same holes")
            .field(
                "forgiven_lean_deg", [](const ToldWayUp& w) { return w.row.lean_deg; },
                "how far it may lean before more air stays")
            .field("height_mm", of(&WayUp::height_mm), "of the part")
            .field("holes_on_show", of(&WayUp::holes_on_show), "that fall on the show side")
            .field("block_length_mm", foot(&Footing::block_length_mm),
                   "smallest rectangle around it, seen from above")
            .field("block_width_mm", foot(&Footing::block_width_mm), "its other side")
            .field("foot_mm2", foot(&Footing::foot_mm2), "that it stands on")
            .field("foot_margin_mm", foot(&Footing::margin_mm),
                   "by which its center of mass lies within the foot")
            .field(
                "stands", [](const ToldWayUp& w) { return w.row.value.footing.stands(); },
                "by itself")
            .field(
                "path_mm",
                [](const ToldWayUp& w) {
                    return w.has_pour_hole ? std::optional(w.row.path_mm) : std::nullopt;
                },
                "along the surface from the pour hole to the farthest place")
            .field(
                "thin_arrival_share", [](const ToldWayUp& w) { return w.row.thin_arrival_share; },
                "how full the cavity is, on average, when a level of foam gets to its thinnest "
                "tenth")
            .field(
                "score", [](const ToldWayUp& w) { return w.row.score; },
                "with --weights: 0 best in all, 1 worst in all")
            .field(
                "pareto", [](const ToldWayUp& w) { return w.row.pareto; },
                "no other is better in one respect and no worse in the others")
            .field(
                "asked", [](const ToldWayUp& w) { return w.row.asked && w.up_given; },
                "the way up that was asked for")
            .field(
                "as_the_file_stands", [](const ToldWayUp& w) { return w.row.asked && !w.up_given; },
                "how the file stands")
            .field("reasons", &reasons_of, "in words, the weightiest first");
    return block;
}

const Block<Plan>& bench_block() {
    const auto of = [](auto BenchPlan::*member) {
        return [member](const Plan& plan) { return (*plan.bench).*member; };
    };
    const auto asked = [](auto BenchRequest::*member) {
        return [member](const Plan& plan) { return plan.bench->request.*member; };
    };
    static const Block<Plan> block =
        Block<Plan>("Bench", "The clock, from the start of stirring.")
            .field("temperature_c", of(&BenchPlan::temperature_c), "of room and liquids")
            .field("work_time_s", of(&BenchPlan::work_time_s), "at that temperature")
            .field("mix_s", of(&BenchPlan::mix_s), "stirring")
            .field("pour_s", of(&BenchPlan::pour_s), "pouring and brushing")
            .field("close_s", of(&BenchPlan::close_s), "all else of the method")
            .field("spare_s", of(&BenchPlan::spare_s), "least slack over the method's deadlines")
            .choice(
                "tightest", deadline_words(),
                [](const Plan& plan) { return to_text(plan.bench->tightest); }, "that deadline")
            .choice(
                "method", method_words(),
                [](const Plan& plan) { return to_text(plan.bench->method); }, "chosen")
            .field("poured_by_s", of(&BenchPlan::poured_by_s), "the work time")
            .field("closed_by_s", of(&BenchPlan::closed_by_s),
                   "before the foam fills the open half")
            .field("turned_by_s", of(&BenchPlan::turned_by_s), "while it still runs")
            .field("strapped_by_s", of(&BenchPlan::strapped_by_s),
                   "before it fills the mold; also by when the pour hole is covered")
            .nullable("foam_at_top_s", of(&BenchPlan::foam_at_top_s),
                      "at the highest vent; null: this pour does not fill the mold")
            .field("most_pressure_s", of(&BenchPlan::most_pressure_s), "it presses most")
            .field("demold_min_s", of(&BenchPlan::demold_min_s), "open no sooner")
            .field("demold_max_s", of(&BenchPlan::demold_max_s), "and by then")
            .field("pour_hole_needed_mm", of(&BenchPlan::hole_needed_mm),
                   "that lets the liquid in on time; 0: none that fits would do")
            .field("up", asked(&BenchRequest::up), "in which it rises")
            .field("open_half_mm3", asked(&BenchRequest::open_half_mm3),
                   "what the half that lies open while it is poured holds before it spills: the "
                   "upper one once it is turned over, or the larger where neither is")
            .field("open_half_by_line", asked(&BenchRequest::parted),
                   "up to the parting line's lowest place; false: up to the middle of the height")
            .field("cups", asked(&BenchRequest::cups), "stirred for one pour, one after another")
            .field("molds", asked(&BenchRequest::molds), "filled from them")
            .field("liquid_depth_mm", of(&BenchPlan::liquid_depth_mm),
                   "of this part's liquid in the closed mold, before it rises")
            .field("film_mm", of(&BenchPlan::film_mm), "left on the walls when the mold is turned")
            .list(
                "methods", method_block(),
                [](const Plan& plan) -> const std::vector<MethodBudget>& {
                    return plan.bench->methods;
                },
                "all there are")
            .choice(
                "pour_hole_after", {"vented", "plugged", "none"},
                [](const Plan& plan) { return to_text(plan.pour_hole_after); },
                "what becomes of the pour hole");
    return block;
}

}  // namespace cavigram::detail
