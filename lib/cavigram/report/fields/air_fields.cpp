// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

namespace {

const Block<Pocket>& pocket_block() {
    static const Block<Pocket> block =
        Block<Pocket>("Pocket", "Air that cannot leave when the level has risen past it.")
            .field("peak_mm", &Pocket::peak_mm, "its highest place")
            .field("volume_mm3", &Pocket::volume_mm3, "with pockets nested in it")
            .field("depth_mm", &Pocket::depth_mm, "from its top down")
            .field("inside_pocket", &Pocket::parent,
                   "index of the pocket it is nested in; -1: none");
    return block;
}

const Block<AirBlock>& small_pockets_block() {
    static const Block<AirBlock> block =
        Block<AirBlock>("SmallPockets", "Pockets too small to be listed.")
            .field(
                "count", [](const AirBlock& a) { return a.unvented.hidden_count; }, "of them")
            .field(
                "volume_mm3", [](const AirBlock& a) { return a.unvented.hidden_mm3; }, "together")
            .field("below_mm3", &AirBlock::smallest_pocket_mm3, "each smaller than this");
    return block;
}

const Block<SecondMethod>& second_method_block() {
    static const Block<SecondMethod> block =
        Block<SecondMethod>("SecondMethod", "The air once more, by upright columns.")
            .field("columns", &SecondMethod::columns, "along the longer side")
            .field("piece_difference_mm3", &SecondMethod::piece_difference_mm3,
                   "largest, of a piece of air")
            .field("volume_difference_mm3", &SecondMethod::volume_difference_mm3,
                   "of the whole part");
    return block;
}

const Block<AirBasis>& basis_block() {
    static const Block<AirBasis> block =
        Block<AirBasis>("AirBasis", "What of the foam the air rests on.")
            .field("card", &AirBasis::card, "the foam card")
            .field("temperature_c", &AirBasis::temperature_c, "today's")
            .field("packing_factor", &AirBasis::packing_factor, "mean over free-rise density")
            .field("free_rise_kg_m3", &AirBasis::free_rise_kg_m3, "of the mix");
    return block;
}

const Block<LeftAfter>& left_block() {
    static const Block<LeftAfter> block =
        Block<LeftAfter>("LeftAfter", "Air that stays with the best so many vents.")
            .field("vents", &LeftAfter::vents, "so many")
            .field("trapped_mm3", &LeftAfter::trapped_mm3, "stays")
            .field("squeezed_mm3", &LeftAfter::squeezed_mm3, "once the foam presses on it")
            .field(
                "squeezed_most_mm3", [](const LeftAfter& l) { return l.trapped_mm3; },
                "if it does not press at all");
    return block;
}

const Block<AirBlock>& pressure_block() {
    static const Block<AirBlock> block =
        Block<AirBlock>("AirPressure", "What squeezes the air that stays.")
            .field(
                "low_kpa", [](const AirBlock&) { return 0.0; }, "a foam that leaks")
            .field("high_kpa", &AirBlock::pressure_kpa, "the foam's own, about")
            .field(
                "known", [](const AirBlock&) { return true; }, "it follows from the foam");
    return block;
}

const Block<ShowCost>& show_block() {
    static const Block<ShowCost> block =
        Block<ShowCost>("ShowCost", "What keeping holes off the show side comes to.")
            .field("cost_mm3", &ShowCost::cost_mm3, "air that stays more")
            .field("holes_on_it", &ShowCost::holes_on_it, "for want of another place");
    return block;
}

// A basin, and whether the liquid given gets there, where its amount is known.
struct ToldPool {
    const Pool& pool;
    bool level_known = false;
};

const Block<ToldPool>& pool_block() {
    static const Block<ToldPool> block =
        Block<ToldPool>("Basin", "Where liquid gathers.")
            .field(
                "floor_mm", [](const ToldPool& p) { return p.pool.floor_mm; }, "its deepest place")
            .field(
                "volume_mm3", [](const ToldPool& p) { return p.pool.volume_mm3; }, "what it holds")
            .field(
                "depth_mm", [](const ToldPool& p) { return p.pool.depth_mm; }, "until it spills")
            .field(
                "entry_mm3", [](const ToldPool& p) { return p.pool.entry_mm3; },
                "liquid that is needed before any gets there")
            .field(
                "inside_pool", [](const ToldPool& p) { return p.pool.parent; },
                "index of the basin it is nested in; -1: none")
            .field(
                "liquid_gets_there",
                [](const ToldPool& p) {
                    return p.level_known ? std::optional(p.pool.reached) : std::nullopt;
                },
                "else only the rising foam does; where the amount is known");
    return block;
}

const Block<Pools>& liquid_block() {
    static const Block<Pools> block =
        Block<Pools>("Liquid", "The liquid before it rises.")
            .list(
                "basins", pool_block(),
                [](const Pools& pools) {
                    std::vector<ToldPool> told;
                    for (const Pool& pool : pools.pools) {
                        told.push_back({pool, pools.level_height_mm.has_value()});
                    }
                    return told;
                },
                "largest first")
            .field("lands_mm", &Pools::landing_mm, "where it comes down")
            .field(
                "stands_mm",
                [](const Pools& pools) -> std::optional<double> {
                    if (!pools.level_height_mm || pools.pools.empty()) {
                        return std::nullopt;
                    }
                    return *pools.level_height_mm - pools.pools.front().floor_height_mm;
                },
                "above the lowest place, where the amount is known");
    return block;
}

const Block<HeldBack>& held_block() {
    static const Block<HeldBack> block =
        Block<HeldBack>("HeldBack", "Air behind a narrow neck.")
            .field("peak_mm", &HeldBack::peak_mm, "its highest place")
            .field("volume_mm3", &HeldBack::volume_mm3, "that stays here");
    return block;
}

const Block<NarrowNecks>& necks_block() {
    static const Block<NarrowNecks> block =
        Block<NarrowNecks>("Necks", "A second run with narrow necks closed.")
            .field(
                "width_mm", [](const NarrowNecks& n) { return n.options.width_mm; },
                "narrower ones were closed")
            .field("spacing_mm", &NarrowNecks::spacing_mm, "of its columns")
            .field("trapped_open_mm3", &NarrowNecks::open_mm3, "stays with all open")
            .field("trapped_closed_mm3", &NarrowNecks::closed_mm3, "stays with these closed")
            .list("held_back", held_block(), &NarrowNecks::held_back, "largest first");
    return block;
}

}  // namespace

const Block<SizedOpening>& opening_block() {
    static const Block<SizedOpening> block =
        Block<SizedOpening>("Opening", "A pour hole, or a vent that was given.")
            .choice(
                "kind", {"pour_hole", "vent"},
                [](const SizedOpening& o) { return o.opening.pour_hole ? "pour_hole" : "vent"; },
                "which")
            .field(
                "at_mm", [](const SizedOpening& o) { return o.opening.place_mm; }, "its place")
            .field(
                "where", [](const SizedOpening& o) { return rendered(o.where); }, "by ruler")
            .field(
                "lets_air_out", [](const SizedOpening& o) { return o.opening.lets_air_out; },
                "while the foam rises")
            .field(
                "given", [](const SizedOpening& o) { return o.opening.given; },
                "its place was asked for")
            .field("diameter_mm", &SizedOpening::diameter_mm,
                   "drilled: the vent, or the hole in the pour hole's cover; 0: plugged");
    return block;
}

const Block<SizedVent>& vent_block() {
    static const Block<SizedVent> block =
        Block<SizedVent>("Vent", "A vent, proposed or given.")
            .field("at_mm", &SizedVent::at_mm, "its place")
            .field(
                "where", [](const SizedVent& v) { return rendered(v.where); }, "by ruler")
            .field("frees_mm3", &SizedVent::frees_mm3, "air it lets out beyond those before it")
            .field("diameter_mm", &SizedVent::diameter_mm, "to drill")
            .field("given", &SizedVent::given, "by the person")
            .field("merged", &SizedVent::merged, "further places within its width");
    return block;
}

const Block<AirBlock>& air_block() {
    static const Block<AirBlock> block =
        Block<AirBlock>("Air", "The air for one way up.")
            .field("up", &AirBlock::up, "how it stands while it rises")
            .choice(
                "pour_hole_after", {"vented", "plugged", "none"},
                [](const AirBlock& a) { return to_text(a.pour_hole_after); },
                "what becomes of the pour hole")
            .field("pour_hole_mm", &AirBlock::pour_hole_mm,
                   "width of each pour hole, as wide as the part takes; 0: there is none")
            .list("openings", opening_block(), &AirBlock::openings, "pour holes, and vents given")
            .list(
                "pockets", pocket_block(),
                [](const AirBlock& a) -> const std::vector<Pocket>& { return a.unvented.pockets; },
                "largest first")
            .object(
                "small_pockets", small_pockets_block(),
                [](const AirBlock& a) -> const AirBlock& { return a; }, "not listed")
            .field(
                "trapped_unvented_mm3", [](const AirBlock& a) { return a.unvented.total_mm3; },
                "stays without vents; with `plugged` and `none` all of it")
            .list("vents", vent_block(), &AirBlock::vents, "the best first")
            .field("trapped_vented_mm3", &AirBlock::trapped_vented_mm3, "stays with them")
            .field("air_rate_mm3_s", &AirBlock::air_rate_mm3_s,
                   "at the fastest of the rise; what vents are sized for")
            .object("second_method", second_method_block(), &AirBlock::second, "by upright columns")
            .object("rests_on", basis_block(), &AirBlock::rests_on, "of the foam")
            .list("left_after", left_block(), &AirBlock::left_after,
                  "with none, one, two ... of the best vents")
            .object(
                "pressure", pressure_block(),
                [](const AirBlock& a) -> const AirBlock& { return a; },
                "what squeezes the air that stays")
            .object("show", show_block(), &AirBlock::show, "with --show")
            .object("liquid", liquid_block(), &AirBlock::pools, "before it rises")
            .object("necks", necks_block(), &AirBlock::necks,
                    "a second run with narrow necks closed, if they are looked for");
    return block;
}

}  // namespace cavigram::detail
