// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/core/limits.h"
#include "cavigram/report/fields/sheet_detail.h"

namespace cavigram::detail {

namespace {

const Block<Ranged>& ranged_block() {
    static const Block<Ranged> block = Block<Ranged>("Ranged", "A figure and its likely range.")
                                           .field("value", &Ranged::value, "likeliest")
                                           .field("low", &Ranged::low, "likely at least")
                                           .field("high", &Ranged::high, "likely at most");
    return block;
}

const Block<WasteFilm>& film_block() {
    static const Block<WasteFilm> block =
        Block<WasteFilm>("WasteFilm", "What a cup keeps back, as weighed once.")
            .field("stays_g", &WasteFilm::stays_g, "in the cup")
            .field("of_g", &WasteFilm::of_g, "of this pour");
    return block;
}

struct LiveMix {
    const FoamCard& card;
    const Ranged& free_rise_kg_m3;
};

const Block<LiveMix>& mix_block() {
    const auto of = [](auto FoamCard::*member) {
        return [member](const LiveMix& m) { return m.card.*member; };
    };
    static const Block<LiveMix> block =
        Block<LiveMix>("MixCard", "A mix as its card states it: times at the card's temperature.")
            .field(
                "mix_a", [](const LiveMix& m) { return m.card.mix.a; }, "parts of A by weight")
            .field(
                "mix_b", [](const LiveMix& m) { return m.card.mix.b; }, "parts of B")
            .object(
                "free_rise_kg_m3", ranged_block(),
                [](const LiveMix& m) -> const Ranged& { return m.free_rise_kg_m3; },
                "in the room's air")
            .object(
                "skin_density_kg_m3", ranged_block(),
                [](const LiveMix& m) -> const Ranged& { return m.card.skin_density_kg_m3; },
                "of skin")
            .field("liquid_a_kg_m3", of(&FoamCard::liquid_a_kg_m3), "of A")
            .field("liquid_b_kg_m3", of(&FoamCard::liquid_b_kg_m3), "of B")
            .field("viscosity_pa_s", of(&FoamCard::viscosity_pa_s), "of the mix")
            .field("at_c", of(&FoamCard::at_c), "what its times hold for")
            .field(
                "halving_k", [](const LiveMix& m) { return m.card.rule.halving_k; },
                "warmer by this halves the times")
            .nullable(
                "activation_kj_mol", [](const LiveMix& m) { return m.card.rule.activation_kj_mol; },
                "replaces the halving")
            .choice(
                "curve", {"gompertz", "first_order", "logistic"},
                [](const LiveMix& m) { return to_text(m.card.curve); }, "of the rise")
            .field("work_time_s", of(&FoamCard::work_time_s), "until it must be poured")
            .field("rise_time_s", of(&FoamCard::rise_time_s), "until it has risen")
            .field("demold_min_s", of(&FoamCard::demold_min_s), "open no sooner")
            .field("demold_max_s", of(&FoamCard::demold_max_s), "and by then")
            .field("kit_a_g", of(&FoamCard::kit_a_g), "in a kit; 0: not known")
            .field("kit_b_g", of(&FoamCard::kit_b_g), "in a kit; 0: not known")
            .field("kit_price", of(&FoamCard::kit_price), "of a kit")
            .field("currency", of(&FoamCard::currency), "of that price");
    return block;
}

const Block<Plan>& holes_block() {
    static const Block<Plan> block =
        Block<Plan>("LiveHoles", "Holes that fill with foam.")
            .field(
                "pour_hole_mm", [](const Plan& p) { return p.foam->holes.pour_hole_width_mm; },
                "its width")
            .field(
                "vents", [](const Plan& p) { return p.foam->holes.vents; }, "how many")
            .field(
                "wall_mm", [](const Plan& p) { return p.foam->holes.wall_mm; }, "their length");
    return block;
}

const Block<Plan>& live_bench_block() {
    const auto of = [](auto BenchRequest::*member) {
        return [member](const Plan& p) { return p.bench->request.*member; };
    };
    const auto hand = [](auto BenchTimes::*member) {
        return [member](const Plan& p) { return p.bench->request.times.*member; };
    };
    static const Block<Plan> block =
        Block<Plan>("BenchFigures", "What the clock is computed from.")
            .field("temperature_c", of(&BenchRequest::temperature_c), "of room and liquids")
            .field(
                "trusted_step_k", [](const Plan&) { return kTrustedStep_k; },
                "times are carried over no farther")
            .field(
                "risen_share", [](const Plan&) { return kRisenShare; }, "that counts as risen")
            .field("stir_s", hand(&BenchTimes::stir_s), "stirring")
            .field("empty_cup_s", hand(&BenchTimes::empty_cup_s), "emptying a cup")
            .field("close_s", hand(&BenchTimes::close_s), "closing")
            .field("strap_s", hand(&BenchTimes::strap_s), "strapping")
            .field("turn_s", hand(&BenchTimes::turn_s), "turning over")
            .field("plug_s", hand(&BenchTimes::plug_s), "covering the hole")
            .field("brush_cm2_s", hand(&BenchTimes::brush_cm2_s), "brushing, cm2 a second")
            .field("turn_grace_s", hand(&BenchTimes::turn_grace_s),
                   "it still runs after its work time")
            .nullable(
                "viscosity_pa_s", [](const Plan& p) { return p.request.bench.viscosity_pa_s; },
                "null: the mix's own")
            .field("area_mm2", of(&BenchRequest::area_mm2), "that is brushed")
            .field("open_half_mm3", of(&BenchRequest::open_half_mm3), "it holds")
            .field("pour_hole_mm", of(&BenchRequest::pour_hole_width_mm), "its width")
            .field("has_pour_hole", of(&BenchRequest::has_pour_hole), "the mold has one")
            .field("hole_length_mm", of(&BenchRequest::hole_length_mm), "through the wall")
            .field("funnel_head_mm", of(&BenchRequest::funnel_head_mm), "of liquid above it")
            .nullable("widest_hole_mm", of(&BenchRequest::widest_hole_mm), "that the part allows")
            .choice(
                "method", {"through_hole", "open_half_and_turn", "brush_first"},
                [](const Plan& p) {
                    const auto& method = p.bench->request.method;
                    return method ? std::optional(std::string(to_text(*method))) : std::nullopt;
                },
                "null: the best that fits", true);
    return block;
}

bool in_one_air(const std::vector<KnownMix>& mixes) {
    return std::all_of(mixes.begin(), mixes.end(), [&](const KnownMix& one) {
        return one.card.density_air_kpa == mixes.front().card.density_air_kpa;
    });
}

// A measured skin settles the mix by its own volume in each mix, an overpack with a fixed mix
// leaves nothing to choose, and densities of two airs are not blended: the density stands.
bool density_fixed(const Plan& plan) {
    const FoamBlock& foam = *plan.foam;
    return (foam.skin.measured_mm3 && foam.mixes.open) ||
           (plan.request.foam.overpack && !foam.mixes.open) || !in_one_air(foam.mixes.known);
}

// The part as it is planned.
void add_planned(Block<Plan>& block) {
    const auto mass = [](auto FoamMass::*member) {
        return [member](const Plan& p) { return p.foam->mass.*member; };
    };
    block
        .field(
            "volume_mm3",
            [](const Plan& p) { return p.measures.mass.volume_mm3 - p.foam->rod_mm3; },
            "of the part, less a rod in it")
        .field(
            "volume_low_mm3",
            [](const Plan& p) { return p.measures.volume_low_mm3 - p.foam->rod_mm3; },
            "likely at least")
        .field(
            "volume_high_mm3",
            [](const Plan& p) { return p.measures.volume_high_mm3 - p.foam->rod_mm3; },
            "likely at most")
        .field("density_kg_m3", mass(&FoamMass::molded_density_kg_m3), "of the part, as planned")
        .field("core_density_kg_m3", mass(&FoamMass::core_density_kg_m3), "as planned")
        .field("packing_factor", mass(&FoamMass::packing_factor), "as planned")
        .field("skin_volume_mm3", mass(&FoamMass::skin_volume_mm3), "as planned")
        .field("part_mass_g", mass(&FoamMass::part_mass_g), "as planned")
        .field("part_mass_low_g", mass(&FoamMass::part_mass_low_g), "as planned")
        .field("part_mass_high_g", mass(&FoamMass::part_mass_high_g), "as planned");
}

// Between what a density may choose.
void add_mixes(Block<Plan>& block) {
    const auto of = [](auto Mixes::*member) {
        return [member](const Plan& p) { return p.foam->mixes.*member; };
    };
    block
        .nullable(
            "measured_skin_mm3", [](const Plan& p) { return p.foam->skin.measured_mm3; },
            "where the skin's thickness is given")
        .object(
            "skin_density_kg_m3", ranged_block(),
            [](const Plan& p) {
                return p.request.foam.skin_density_kg_m3 ? &p.foam->request.skin_density_kg_m3
                                                         : nullptr;
            },
            "as given, for every mix")
        .object(
            "taken", mix_block(),
            [](const Plan& p) {
                return LiveMix{p.foam->card, p.foam->request.free_rise_kg_m3};
            },
            "the mix of the plan")
        .list(
            "mixes", mix_block(),
            [](const Plan& p) {
                std::vector<LiveMix> mixes;
                for (const KnownMix& known : p.foam->mixes.known) {
                    mixes.push_back({known.card, known.free_rise_kg_m3});
                }
                return mixes;
            },
            "known ones, the named card's first")
        .field("mix_is_open", of(&Mixes::open), "a density chooses it")
        .field("mix_chosen", of(&Mixes::chosen), "by the plan's density")
        .field("mix_clamped", of(&Mixes::clamped), "to the nearest there is")
        .field("wanted_packing", of(&Mixes::packing_for_density), "a density is chosen with")
        .field(
            "has_other_mix", [](const Plan& p) { return p.foam->mixes.other.has_value(); },
            "the plan tells another mix")
        .field(
            "may_have_other_mix",
            [](const Plan& p) {
                const FoamOptions& asked = p.request.foam;
                return !asked.overpack && !asked.shop && p.foam->mixes.known.size() > 1;
            },
            "another density may tell one");
}

// What else is poured, and against what.
void add_surroundings(Block<Plan>& block) {
    const auto of = [](auto FoamBlock::*member) {
        return [member](const Plan& p) { return (*p.foam).*member; };
    };
    const auto together = [](double (*of_one)(const AlsoPoured&)) {
        return [of_one](const Plan& p) {
            double sum = 0.0;
            for (const AlsoPoured& other : p.foam->also) {
                sum += of_one(other);
            }
            return sum;
        };
    };
    block.field("density_fixed", density_fixed, "the plan leaves it no choice")
        .field("also_volume_mm3",
               together([](const AlsoPoured& o) { return o.measures.mass.volume_mm3; }),
               "of other parts poured along")
        .field("also_mass_g", together([](const AlsoPoured& o) { return o.part_mass_g; }),
               "of them")
        .field(
            "molds", [](const Plan& p) { return 1 + p.foam->also.size(); }, "filled from one cup")
        .field("air_kpa", of(&FoamBlock::air_kpa), "the room's")
        .field(
            "polymer_kg_m3", [](const Plan&) { return kPolymer_kg_m3; }, "foam without gas")
        .field(
            "mold_holds_kpa", [](const Plan& p) { return p.foam->window.request.mold_holds_kpa; },
            "taken or given")
        .field(
            "pressure_reserve", [](const Plan&) { return kPressureReserve; }, "for the straps")
        .field(
            "strapped_by_hand_kpa", [](const Plan&) { return kStrappedByHand_kpa; },
            "no such mold holds more")
        .field(
            "stirred_by_hand_g", [](const Plan&) { return kStirredByHand_g; },
            "no more is stirred evenly in one cup")
        .object(
            "holes", holes_block(), [](const Plan& p) -> const Plan& { return p; },
            "that fill too");
}

void add_batch(Block<Plan>& block) {
    const auto of = [](auto BatchRequest::*member) {
        return [member](const Plan& p) { return p.foam->batch.request.*member; };
    };
    block
        .field(
            "flash_share",
            [](const Plan& p) {
                return p.foam->batch.request.flash_g / p.foam->batch.request.part_mass_g;
            },
            "of the part")
        .field("spare_g", of(&BatchRequest::spare_g), "poured on top")
        .field("waste_share", of(&BatchRequest::waste_share), "of the pour")
        .object(
            "waste_film", film_block(),
            [](const Plan& p) {
                return p.foam->batch.request.waste_film ? &*p.foam->batch.request.waste_film
                                                        : nullptr;
            },
            "replaces the share")
        .field("cup_residue_g", of(&BatchRequest::cup_residue_g), "in A's own cup")
        .field(
            "residue_spread", [](const Plan&) { return kResidueSpread; }, "of it, as a share")
        .field(
            "usual_residue_g", [](const Plan&) { return kUsualResidue_g; }, "for the note")
        .field(
            "tared",
            [](const Plan& p) { return p.foam->batch.request.weighing == Weighing::tared; },
            "each reading is the difference of two")
        .field("pigment_share", of(&BatchRequest::pigment_share), "of B")
        .field("scale_readability_g", of(&BatchRequest::scale_readability_g), "the scale's step")
        .field("copies", of(&BatchRequest::copies), "pours")
        .field("largest_g", of(&BatchRequest::largest_g), "cup; 0: any")
        .field(
            "good_ratio_percent", [](const Plan&) { return kGoodRatioPercent; }, "good enough")
        .field(
            "worst_ratio_percent", [](const Plan&) { return kWorstRatioPercent; },
            "no pour beyond that");
}

}  // namespace

const Block<Plan>& live_block() {
    static const Block<Plan> block = [] {
        Block<Plan> live("Live", "What grams, window and clock are computed from.");
        add_planned(live);
        add_mixes(live);
        add_surroundings(live);
        add_batch(live);
        live.object(
            "bench", live_bench_block(), [](const Plan& p) { return p.bench ? &p : nullptr; },
            "for the clock");
        return live;
    }();
    return block;
}

}  // namespace cavigram::detail
