// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

namespace {

// A place of the rise with its words.
struct ToldPlace {
    Vec3 at_mm = Vec3::Zero();
    std::string where;
    std::optional<double> time_s;
    double volume_mm3 = 0.0;
    double squeezed_mm3 = 0.0;
    double area_mm2 = 0.0;
};

std::vector<ToldPlace> last_places(const RiseBlock& block) {
    std::vector<ToldPlace> places;
    for (std::size_t i = 0; i < block.rise.last.size(); ++i) {
        const LatePlace& late = block.rise.last[i];
        places.push_back({late.at_mm, rendered(block.last_where[i]), late.time_s, 0.0, 0.0, 0.0});
    }
    return places;
}

std::vector<ToldPlace> sealed_places(const RiseBlock& block) {
    std::vector<ToldPlace> places;
    for (std::size_t i = 0; i < block.rise.sealed.size(); ++i) {
        const RiseAir& air = block.rise.sealed[i];
        places.push_back({air.at_mm, rendered(block.air_where[i]), air.time_s, air.volume_mm3,
                          air.squeezed_mm3, 0.0});
    }
    return places;
}

std::vector<ToldPlace> seam_places(const RiseBlock& block) {
    std::vector<ToldPlace> places;
    for (std::size_t i = 0; i < block.rise.seams.size(); ++i) {
        const RiseSeam& seam = block.rise.seams[i];
        places.push_back(
            {seam.at_mm, rendered(block.seam_where[i]), seam.time_s, 0.0, 0.0, seam.area_mm2});
    }
    return places;
}

const Block<ToldPlace>& last_block() {
    static const Block<ToldPlace> block =
        Block<ToldPlace>("LastFilled", "A place that foam reaches later than those around it.")
            .field("at_mm", &ToldPlace::at_mm, "where")
            .field("where", &ToldPlace::where, "by ruler")
            .nullable("time_s", &ToldPlace::time_s, "when, from the start of stirring");
    return block;
}

const Block<ToldPlace>& sealed_block() {
    static const Block<ToldPlace> block =
        Block<ToldPlace>("SealedAir", "Air that the rising foam cuts off.")
            .field("at_mm", &ToldPlace::at_mm, "its highest place")
            .field("where", &ToldPlace::where, "by ruler")
            .field("volume_mm3", &ToldPlace::volume_mm3, "when it is cut off")
            .field("squeezed_mm3", &ToldPlace::squeezed_mm3,
                   "once the foam presses as it does at the end")
            .nullable("time_s", &ToldPlace::time_s, "when it is cut off");
    return block;
}

const Block<ToldPlace>& seam_block() {
    static const Block<ToldPlace> block =
        Block<ToldPlace>("RiseSeam", "Where two fronts of foam meet.")
            .field("at_mm", &ToldPlace::at_mm, "on it, near its middle")
            .field("where", &ToldPlace::where, "by ruler")
            .field("area_mm2", &ToldPlace::area_mm2, "of it")
            .nullable("time_s", &ToldPlace::time_s, "when they begin to meet");
    return block;
}

const Block<LatePlace>& unfilled_block() {
    static const Block<LatePlace> block =
        Block<LatePlace>("Unfilled", "Room that stays empty for want of foam or time.")
            .field("at_mm", &LatePlace::at_mm, "its highest place")
            .field("volume_mm3", &LatePlace::volume_mm3, "of it");
    return block;
}

const Block<RiseHoleBlock>& flash_block() {
    static const Block<RiseHoleBlock> block =
        Block<RiseHoleBlock>("RiseFlash", "What happens at a hole that lets air out.")
            .field("opening", &RiseHoleBlock::name, "pour hole, or vent by its number")
            .field(
                "at_mm", [](const RiseHoleBlock& h) { return h.hole.at_mm; }, "its place")
            .field(
                "where", [](const RiseHoleBlock& h) { return rendered(h.where); }, "by ruler")
            .nullable(
                "reached_s", [](const RiseHoleBlock& h) { return h.at.reached_s; },
                "when foam is under it; null: never")
            .field(
                "filled_share_then", [](const RiseHoleBlock& h) { return h.at.share_then; },
                "of the cavity; 0: never reached")
            .field(
                "mass_g", [](const RiseHoleBlock& h) { return h.at.flash_g; },
                "foam that leaves by it, about");
    return block;
}

const Block<RiseMoment>& moment_block() {
    static const Block<RiseMoment> block =
        Block<RiseMoment>("RiseMoment", "A moment of the rise.")
            .field("time_s", &RiseMoment::time_s, "from the start of stirring")
            .field("filled_share", &RiseMoment::filled_share, "of the cavity")
            .field("pressure_kpa", &RiseMoment::pressure_kpa, "the highest, about");
    return block;
}

const Block<RiseCase>& case_block() {
    static const Block<RiseCase> block =
        Block<RiseCase>("RiseCase", "The same rise with something changed.")
            .field("what", &RiseCase::what, "in words")
            .nullable("fill_time_s", &RiseCase::full_s, "null: it does not fill")
            .field("filled_share", &RiseCase::filled_share, "of the cavity")
            .field("air_mm3", &RiseCase::air_mm3, "cut off")
            .field("empty_mm3", &RiseCase::empty_mm3, "not filled for want of foam or time")
            .field("flash_g", &RiseCase::flash_g, "foam that leaves by all holes, about")
            .field("peak_pressure_kpa", &RiseCase::peak_kpa, "about");
    return block;
}

const Block<LikelyFilled>& likely_block() {
    static const Block<LikelyFilled> block =
        Block<LikelyFilled>("LikelyFilled", "How likely a place fills.")
            .field("at_mm", &LikelyFilled::at_mm, "where")
            .field(
                "where", [](const LikelyFilled& l) { return rendered(l.where); }, "by ruler")
            .field("share", &LikelyFilled::share, "of the runs in which it fills");
    return block;
}

}  // namespace

const Block<RiseBlock>& rise_block() {
    const auto of = [](auto Rise::*member) {
        return [member](const RiseBlock& b) { return b.rise.*member; };
    };
    static const Block<RiseBlock> block =
        Block<RiseBlock>("Rise", "The foam rising, in time. Pressures are an order of magnitude.")
            .choice(
                "level", {"still", "stepped", "viscous"},
                [](const RiseBlock& b) { return to_text(b.rise.level); },
                "still: the foam stands level; stepped: gravity and viscosity, step by step; "
                "viscous: gravity does not matter")
            .field("steps_failed", of(&Rise::steps_failed),
                   "it was to be stepped, but the steps did not settle")
            .field("gravity_number", of(&Rise::gravity_number),
                   "gravity over what viscosity takes; from 30 on still, up to 1/30 viscous")
            .field(
                "cells", [](const RiseBlock& b) { return static_cast<long long>(b.rise.cells); },
                "on which it is followed")
            .field("cell_mm", of(&Rise::cell_mm), "their edge")
            .field("mass_error", of(&Rise::mass_error), "largest, over what was poured")
            .field(
                "story", [](const RiseBlock& b) { return rendered(b.story); }, "in words")
            .field("filled_share", of(&Rise::filled_share), "of the cavity, at the end")
            .nullable("fill_time_s", of(&Rise::full_s),
                      "when only cut-off air is left; null: never")
            .field("gel_s", of(&Rise::gel_s), "when it runs no more")
            .field("gel_guessed", of(&Rise::gel_guessed), "that time is a guess")
            .field("missing_mm3", of(&Rise::missing_mm3), "stays empty for want of foam or time")
            .field("unreached_mm3", of(&Rise::unreached_mm3),
                   "in arms narrower than a cell, of which nothing is known")
            .list(
                "flash", flash_block(),
                [](const RiseBlock& b) -> const std::vector<RiseHoleBlock>& { return b.holes; },
                "at each hole that lets air out")
            .list("last_filled", last_block(), last_places, "the latest first")
            .list("sealed_air", sealed_block(), sealed_places, "largest first")
            .list("seams", seam_block(), seam_places, "where fronts meet, largest first")
            .list(
                "unfilled", unfilled_block(),
                [](const RiseBlock& b) -> const std::vector<LatePlace>& { return b.rise.unfilled; },
                "largest first")
            .list(
                "moments", moment_block(),
                [](const RiseBlock& b) -> const std::vector<RiseMoment>& { return b.rise.moments; },
                "in order of time")
            .field("flow_pressure_kpa", of(&Rise::flow_kpa), "highest while it rises, about")
            .field("peak_pressure_kpa", of(&Rise::peak_kpa),
                   "highest of all, about: the packed foam's once the mold is full")
            .field("opening_force_n", of(&Rise::opening_force_n),
                   "that parts the mold across up, about")
            .list(
                "cases", case_block(),
                [](const RiseBlock& b) -> const std::vector<RiseCase>& { return b.cases; },
                "with other holes, and more or less foam; empty: not asked")
            .field("uncertain_runs", &RiseBlock::runs, "over what is not known; 0: none")
            .list(
                "likely_filled", likely_block(),
                [](const RiseBlock& b) -> const std::vector<LikelyFilled>& { return b.likely; },
                "of these runs, the least likely first");
    return block;
}

}  // namespace cavigram::detail
