// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

namespace {

const Block<DensityMap>& density_map_block() {
    static const Block<DensityMap> block =
        Block<DensityMap>("DensityMap", "Mean density beneath the surface, by area.")
            .field(
                "deepest_mm", [](const DensityMap& m) { return m.options.deepest_mm; },
                "no deeper than this")
            .field("least_kg_m3", &DensityMap::least_kg_m3, "anywhere")
            .field("p10_kg_m3", &DensityMap::p10_kg_m3, "a tenth of the area has less")
            .field("median_kg_m3", &DensityMap::median_kg_m3, "half of it has less")
            .field("p90_kg_m3", &DensityMap::p90_kg_m3, "nine tenths of it have less")
            .field("most_kg_m3", &DensityMap::most_kg_m3, "anywhere")
            .field("area_mm2", &DensityMap::area_mm2, "of the surface")
            .field("all_skin_area_mm2", &DensityMap::all_skin_area_mm2,
                   "with no core beneath: stiff, no cushion")
            .field("edge_area_mm2", &DensityMap::edge_area_mm2,
                   "at convex edges, not counted as all skin");
    return block;
}

const Block<AlsoPoured>& also_block() {
    const auto of_clock = [](auto BenchPlan::*member) {
        return [member](const AlsoPoured& a) {
            return a.clock ? std::optional((*a.clock).*member) : std::nullopt;
        };
    };
    static const Block<AlsoPoured> block =
        Block<AlsoPoured>("AlsoPoured", "Another part poured from the same cup.")
            .field(
                "file", [](const AlsoPoured& a) { return a.input.file; }, "its name")
            .field(
                "volume_mm3", [](const AlsoPoured& a) { return a.measures.mass.volume_mm3; },
                "of its cavity")
            .field("part_mass_g", &AlsoPoured::part_mass_g, "of that part")
            .field(
                "fills_from_g", [](const AlsoPoured& a) { return a.window.fills_from_g; },
                "foam in its own mold, holes filled, from which it is full")
            .field(
                "planned_g", [](const AlsoPoured& a) { return a.window.request.planned_g; },
                "foam in its own mold, holes filled")
            .field(
                "presses_over_g", [](const AlsoPoured& a) { return a.window.presses_over_g; },
                "above it presses harder than the mold is taken to hold")
            .field("liquid_depth_mm", of_clock(&BenchPlan::liquid_depth_mm),
                   "before it rises, in its own mold; with the clock")
            .field("closed_by_s", of_clock(&BenchPlan::closed_by_s), "by its own open half")
            .field("strapped_by_s", of_clock(&BenchPlan::strapped_by_s), "before it is full")
            .field("spare_s", of_clock(&BenchPlan::spare_s),
                   "least slack of the same steps by its own deadlines; below 0: too late");
    return block;
}

const Block<OtherMix>& other_mix_block() {
    static const Block<OtherMix> block =
        Block<OtherMix>("OtherMix", "The same finished density with another mix.")
            .field(
                "mix_a", [](const OtherMix& o) { return o.mix.a; }, "parts of A by weight")
            .field(
                "mix_b", [](const OtherMix& o) { return o.mix.b; }, "parts of B")
            .field("packing_factor", &OtherMix::packing_factor, "mean over free-rise density")
            .field("part_a_g", &OtherMix::part_a_g, "0: it would not fill the mold")
            .field("part_b_g", &OtherMix::part_b_g, "0: it would not fill the mold")
            .field("pressure_kpa", &OtherMix::pressure_kpa, "about")
            .field("firmer", &OtherMix::firmer, "else softer");
    return block;
}

}  // namespace

// A table of the keys, row by row.
const Block<FoamBlock>& foam_block() {  // NOLINT(readability-function-size)
    static const Block<FoamBlock> block =
        Block<FoamBlock>("Foam", "Mix, skin and core, in one chain from the packing.")
            .field(
                "card", [](const FoamBlock& f) { return f.card.name; }, "the foam card")
            .field(
                "typical_values", [](const FoamBlock& f) { return f.card.typical; },
                "the card's figures are typical ones, a guess for this foam")
            .field(
                "mix_a", [](const FoamBlock& f) { return f.card.mix.a; }, "parts of A by weight")
            .field(
                "mix_b", [](const FoamBlock& f) { return f.card.mix.b; }, "parts of B")
            .field(
                "mix_chosen", [](const FoamBlock& f) { return f.mixes.chosen; },
                "by the wanted density")
            .field(
                "mix_at_its_end", [](const FoamBlock& f) { return f.mixes.clamped; },
                "the foam has no mix that light or dense")
            .choice(
                "basis", {"molded", "core", "free_rise"},
                [](const FoamBlock& f) { return to_text(f.basis); },
                "of the wanted density, else the card's")
            .field(
                "free_rise_kg_m3", [](const FoamBlock& f) { return f.mass.free_rise_kg_m3; },
                "of this mix in the room's air")
            .field(
                "free_rise_low_kg_m3",
                [](const FoamBlock& f) { return f.request.free_rise_kg_m3.low; }, "likely range")
            .field(
                "free_rise_high_kg_m3",
                [](const FoamBlock& f) { return f.request.free_rise_kg_m3.high; }, "likely range")
            .field("air_kpa", &FoamBlock::air_kpa, "pressure of the room's air")
            .field(
                "packing_factor", [](const FoamBlock& f) { return f.mass.packing_factor; },
                "mean over free-rise density")
            .field(
                "molded_density_kg_m3",
                [](const FoamBlock& f) { return f.mass.molded_density_kg_m3; },
                "mean of the whole part")
            .field(
                "skin_measured", [](const FoamBlock& f) { return f.mass.skin_measured; },
                "else derived from the packing")
            .field(
                "skin_thickness_mm", [](const FoamBlock& f) { return f.mass.skin_thickness_mm; },
                "for other profiles than a step: the decay length")
            .field(
                "skin_thickness_low_mm",
                [](const FoamBlock& f) { return f.mass.skin_thickness_low_mm; },
                "by the ranges of skin and free-rise density, or as measured")
            .field(
                "skin_thickness_high_mm",
                [](const FoamBlock& f) { return f.mass.skin_thickness_high_mm; },
                "by the ranges of skin and free-rise density, or as measured")
            .field(
                "skin_density_kg_m3", [](const FoamBlock& f) { return f.mass.skin_density_kg_m3; },
                "of the skin")
            .choice(
                "skin_profile", {"step", "exponential"},
                [](const FoamBlock& f) { return to_text(f.request.profile); },
                "how the skin fades into the core")
            .field(
                "core_density_kg_m3", [](const FoamBlock& f) { return f.mass.core_density_kg_m3; },
                "free rise, unless a measured skin leaves more")
            .field(
                "skin_volume_mm3", [](const FoamBlock& f) { return f.mass.skin_volume_mm3; },
                "effective: at full skin density")
            .field(
                "skin_volume_error_mm3",
                [](const FoamBlock& f) { return f.skin.error_share * f.mass.skin_volume_mm3; },
                "likely error of that")
            .field(
                "core_volume_mm3", [](const FoamBlock& f) { return f.mass.core_volume_mm3; },
                "the rest")
            .field(
                "unfilled_mm3", [](const FoamBlock& f) { return f.mass.unfilled_mm3; },
                "above 0: a short shot")
            .field(
                "skin_mass_g", [](const FoamBlock& f) { return f.mass.skin_mass_g; }, "in the skin")
            .field(
                "core_mass_g", [](const FoamBlock& f) { return f.mass.core_mass_g; }, "in the core")
            .field(
                "part_mass_g", [](const FoamBlock& f) { return f.mass.part_mass_g; },
                "skin and core added")
            .field(
                "part_mass_low_g", [](const FoamBlock& f) { return f.mass.part_mass_low_g; },
                "by the file's volume, or the castings' prediction")
            .field(
                "part_mass_high_g", [](const FoamBlock& f) { return f.mass.part_mass_high_g; },
                "by the file's volume, or the castings' prediction")
            .field(
                "deepest_mm", [](const FoamBlock& f) { return f.skin.depth.deepest.depth_mm; },
                "depth of the deepest point")
            .field(
                "deepest_at_mm", [](const FoamBlock& f) { return f.skin.depth.deepest.at_mm; },
                "that point")
            .field(
                "cell_mm", [](const FoamBlock& f) { return f.skin.depth.cell_mm; },
                "finest cells of the skin's volume")
            .field("expansion_ratio", &FoamBlock::expansion_ratio, "free-rise volume over liquid")
            .field("liquid_share", &FoamBlock::liquid_share, "of the cavity, before it rises")
            .field(
                "pressure_upper_kpa", [](const FoamBlock& f) { return f.window.strap_for_kpa; },
                "what straps are planned for, as strap_for_kpa of the window")
            .object(
                "other_mix", other_mix_block(), [](const FoamBlock& f) { return f.mixes.other; },
                "the same density the other way, if there is one")
            .field(
                "isocyanate_index", [](const FoamBlock& f) { return f.card.index; },
                "where the card has the liquids' own figures")
            .object("density_map", density_map_block(), &FoamBlock::density,
                    "what a hand meets, where it was asked for")
            .list(
                "also", also_block(),
                [](const FoamBlock& f) { return f.also.empty() ? nullptr : &f.also; },
                "parts poured from the same cup");
    return block;
}

const Block<PourWindow>& window_block() {
    static const Block<PourWindow> block =
        Block<PourWindow>("Window",
                          "Grams in the mold, its holes filled, between which the pour "
                          "works.")
            .field("fills_from_low_g", &PourWindow::fills_from_low_g,
                   "if the foam rises as much as it may")
            .field("fills_from_g", &PourWindow::fills_from_g, "as it likely does")
            .field("fills_from_high_g", &PourWindow::fills_from_high_g, "as little as it may")
            .field(
                "planned_g", [](const PourWindow& w) { return w.request.planned_g; },
                "what is planned")
            .field("presses_over_g", &PourWindow::presses_over_g,
                   "above this it presses harder than the mold holds")
            .field("pressure_kpa", &PourWindow::pressure_kpa, "about, of the planned pour")
            .field("strap_for_kpa", &PourWindow::strap_for_kpa, "what straps are planned for")
            .field(
                "mold_holds_kpa", [](const PourWindow& w) { return w.request.mold_holds_kpa; },
                "what the mold is taken to hold");
    return block;
}

const Block<FoamBlock>& balance_block() {
    const auto of = [](double Balance::*member) {
        return [member](const FoamBlock& foam) { return foam.batch.balance.*member; };
    };
    static const Block<FoamBlock> block =
        Block<FoamBlock>("Balance", "Where the grams of one pour go, over all its cups.")
            .field("part_g", of(&Balance::part_g), "all parts of the cup")
            .field("holes_g", of(&Balance::holes_g), "in pour holes and vents")
            .field("flash_g", of(&Balance::flash_g), "as this shop's castings lose it")
            .field("spare_g", of(&Balance::spare_g), "beyond what is needed")
            .field("waste_g", of(&Balance::waste_g), "stays in the mixing cup")
            .field("residue_g", of(&Balance::residue_g), "stays in A's own cup")
            .field("rounding_g", of(&Balance::rounding_g), "from the scale's step")
            .field("pigment_g", of(&Balance::pigment_g), "on top")
            .field("part_a_g", of(&Balance::part_a_g), "of A")
            .field("part_b_g", of(&Balance::part_b_g), "of B")
            .field("closes_to_g", of(&Balance::closes_to_g), "A, B and pigment less the rest")
            .field(
                "skin_closes_to_share",
                [](const FoamBlock& foam) { return foam.skin.closes_to_share; },
                "the profile put back over the depth curve, against the part's mass");
    return block;
}

const Block<Batch>& batch_block() {
    static const Block<Batch> block =
        Block<Batch>("Batch", "What goes into one cup.")
            .field("pour_mass_g", &Batch::pour_mass_g, "A and B together, before rounding")
            .field("part_a_g", &Batch::part_a_g, "of A, as the scale shows it")
            .field("part_b_g", &Batch::part_b_g, "of B")
            .field("pigment_g", &Batch::pigment_g, "stirred into B")
            .field("waste_g", &Batch::waste_g, "stays in the cup")
            .field("spare_g", &Batch::spare_g, "beyond what is needed")
            .field("batches", &Batch::batches, "cups in all")
            .field("cups_each", &Batch::cups_each, "cups for one pour")
            .field("copies_per_kit", &Batch::copies_per_kit, "0 where not known")
            .field("cost_per_copy", &Batch::cost_per_copy, "in the kit's currency; 0: not known")
            .field("scale_readability_g", &Batch::scale_readability_g, "the scale's step")
            .field("scale_in_ounces", &Batch::scale_in_ounces, "masses are told in ounces")
            .field("ratio_off_percent", &Batch::ratio_off_percent, "from rounding")
            .field("ratio_uncertainty_percent", &Batch::ratio_uncertainty_percent,
                   "from the scale, two standard uncertainties")
            .field("ratio_true_percent", &Batch::ratio_true_percent,
                   "both and the residue: what is shown")
            .choice(
                "weighing", {"tared", "direct"},
                [](const Batch& b) { return to_text(b.request.weighing); },
                "how a cup's contents are weighed")
            .field("least_batch_g", &Batch::least_batch_g, "that this scale weighs to 2 %")
            .field("scale_needed_g", &Batch::scale_needed_g, "step that weighs this pour to 2 %")
            .field("liquid_ml", &Batch::liquid_ml, "in the cup")
            .field("cup_ml", &Batch::cup_ml, "that it needs")
            .field("total_a_g", &Batch::total_a_g, "over all cups")
            .field("total_b_g", &Batch::total_b_g, "over all cups")
            .field("total_pigment_g", &Batch::total_pigment_g, "over all cups");
    return block;
}

const Block<Finish>& finish_block() {
    static const Block<Finish> block =
        Block<Finish>("Finish", "Pigment dusted on, or paint.")
            .field("area_mm2", &Finish::area_mm2, "of one part")
            .field("rate_g_m2", &Finish::rate_g_m2, "what the surface takes")
            .field("rate_is_guess", &Finish::rate_is_guess, "no rate was given")
            .field("grams", &Finish::grams, "for one part, in grams")
            .field("total_g", &Finish::total_g, "for all copies");
    return block;
}

}  // namespace cavigram::detail
