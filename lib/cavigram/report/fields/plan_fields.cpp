// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"
#include "cavigram/report/guesses.h"

namespace cavigram::detail {

namespace {

const Block<Guess>& guess_block() {
    static const Block<Guess> block =
        Block<Guess>("Guess", "A figure that nobody measured.")
            .field("what", &Guess::what, "which")
            .field(
                "value", [](const Guess& g) { return rendered(g.value); }, "what it is taken for")
            .field("replace_with", &Guess::replace_with, "the option that replaces it");
    return block;
}

const Block<Plan>& program_block() {
    static const Block<Plan> block =
        Block<Plan>("Program", "What wrote this.")
            .field(
                "version", [](const Plan&) { return CAVIGRAM_VERSION; }, "of the program");
    return block;
}

std::optional<std::vector<ToldWayUp>> told_ways(const Plan& plan) {
    if (!plan.orientations) {
        return std::nullopt;
    }
    std::vector<ToldWayUp> told;
    for (const RankedWayUp& row : plan.orientations->rows) {
        told.push_back(
            {row, plan.up_given, plan.orientations->pour_hole_after != PourHoleAfter::none});
    }
    return told;
}

const Plan* if_any(const Plan& plan, bool there) {
    return there ? &plan : nullptr;
}

}  // namespace

const Block<Plan>& plan_block() {
    static const Block<Plan> block =
        Block<Plan>("Plan", "All that is known of one part; a block for each stage that ran.")
            .field(
                "schema", [](const Plan&) { return "cavigram/1"; },
                "this contract; the number rises when a key is renamed or removed")
            .object(
                "program", program_block(), [](const Plan& p) -> const Plan& { return p; },
                "what wrote it")
            .object("input", input_block(), &Plan::input, "the file")
            .object(
                "repair", repair_block(), [](const Plan& p) -> const Part& { return *p.part; },
                "what mending found and did")
            .object("measures", measures_block(), &Plan::measures, "what the part measures")
            .object("thin", thin_block(), &Plan::thin, "where it is thin")
            .object("foam", foam_block(), &Plan::foam, "mix, skin and core")
            .object(
                "window", window_block(),
                [](const Plan& p) { return p.foam ? &p.foam->window : nullptr; },
                "between which grams the pour works")
            .object(
                "batch", batch_block(),
                [](const Plan& p) { return p.foam ? &p.foam->batch : nullptr; },
                "what goes into the cup")
            .object("balance", balance_block(), &Plan::foam, "where the grams go")
            .object(
                "finish", finish_block(),
                [](const Plan& p) { return p.foam ? &p.foam->finish : nullptr; },
                "pigment or paint")
            .object("air", air_block(), &Plan::air, "air, pour hole, vents")
            .object("split", split_block(), &Plan::split, "pull, parting line, undercuts")
            .list("orientations", way_up_block(), told_ways, "ways up, best first")
            .object(
                "bench", bench_block(),
                [](const Plan& p) { return if_any(p, p.bench.has_value()); }, "the clock")
            .object("mold", mold_block(), &Plan::mold, "what to build around the part")
            .object("handle", handle_block(), &Plan::handle, "weight and droop in the hand")
            .object("rise", rise_block(), &Plan::rise, "the foam rising, in time")
            .list("findings", finding_block(), &Plan::findings, "what was noticed")
            .list(
                "guesses", guess_block(), [](const Plan& p) { return guesses_of(p); },
                "what nobody measured")
            .field("cautions", &Plan::cautions, "for the person at the bench");
    return block;
}

}  // namespace cavigram::detail
