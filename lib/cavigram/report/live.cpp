// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include <nlohmann/json.hpp>

#include "cavigram/report/live_detail.h"

namespace cavigram {

namespace {

using Json = nlohmann::ordered_json;

Json ranged(const Ranged& r) {
    return {{"value", r.value}, {"low", r.low}, {"high", r.high}};
}

Json number(const std::optional<double>& value) {
    return value ? Json(*value) : Json();
}

// A mix as its card states it: times at their own temperature, free rise in the room's air.
Json mix_json(const FoamCard& card, const Ranged& free_rise) {
    return {{"mix_a", card.mix.a},
            {"mix_b", card.mix.b},
            {"free_rise_kg_m3", ranged(free_rise)},
            {"skin_density_kg_m3", ranged(card.skin_density_kg_m3)},
            {"liquid_a_kg_m3", card.liquid_a_kg_m3},
            {"liquid_b_kg_m3", card.liquid_b_kg_m3},
            {"viscosity_pa_s", card.viscosity_pa_s},
            {"at_c", card.at_c},
            {"halving_k", card.rule.halving_k},
            {"activation_kj_mol", number(card.rule.activation_kj_mol)},
            {"curve", to_text(card.curve)},
            {"work_time_s", card.work_time_s},
            {"rise_time_s", card.rise_time_s},
            {"demold_min_s", card.demold_min_s},
            {"demold_max_s", card.demold_max_s},
            {"kit_a_g", card.kit_a_g},
            {"kit_b_g", card.kit_b_g},
            {"kit_price", card.kit_price},
            {"currency", card.currency}};
}

bool in_one_air(const std::vector<KnownMix>& mixes) {
    return std::all_of(mixes.begin(), mixes.end(), [&](const KnownMix& one) {
        return one.card.density_air_kpa == mixes.front().card.density_air_kpa;
    });
}

// The foam as planned, and between what a density may choose.
void add_foam(Json& live, const Plan& plan) {
    const FoamBlock& foam = *plan.foam;
    const FoamOptions& asked = plan.request.foam;
    live["volume_mm3"] = plan.measures.mass.volume_mm3;
    live["volume_low_mm3"] = plan.measures.volume_low_mm3;
    live["volume_high_mm3"] = plan.measures.volume_high_mm3;
    live["density_kg_m3"] = foam.mass.molded_density_kg_m3;
    live["core_density_kg_m3"] = foam.mass.core_density_kg_m3;
    live["packing_factor"] = foam.mass.packing_factor;
    live["skin_volume_mm3"] = foam.mass.skin_volume_mm3;
    live["part_mass_g"] = foam.mass.part_mass_g;
    live["part_mass_low_g"] = foam.mass.part_mass_low_g;
    live["part_mass_high_g"] = foam.mass.part_mass_high_g;
    live["measured_skin_mm3"] = number(foam.skin.measured_mm3);
    live["skin_density_kg_m3"] =
        asked.skin_density_kg_m3 ? ranged(foam.request.skin_density_kg_m3) : Json();
    live["taken"] = mix_json(foam.card, foam.request.free_rise_kg_m3);
    live["mixes"] = Json::array();
    for (const KnownMix& known : foam.mixes.known) {
        live["mixes"].push_back(mix_json(known.card, known.free_rise_kg_m3));
    }
    live["mix_is_open"] = foam.mixes.open;
    live["mix_chosen"] = foam.mixes.chosen;
    live["mix_clamped"] = foam.mixes.clamped;
    live["wanted_packing"] = foam.mixes.packing_for_density;
    live["has_other_mix"] = foam.mixes.other.has_value();
    live["may_have_other_mix"] = !asked.overpack && !asked.shop && foam.mixes.known.size() > 1;
    // A measured skin settles the mix by its own volume in each mix, an overpack with a fixed mix
    // leaves nothing to choose, and densities of two airs are not blended: the density stands.
    live["density_fixed"] = (foam.skin.measured_mm3 && foam.mixes.open) ||
                            (asked.overpack && !foam.mixes.open) || !in_one_air(foam.mixes.known);
    double also_mm3 = 0.0;
    double also_g = 0.0;
    for (const AlsoPoured& other : foam.also) {
        also_mm3 += other.measures.mass.volume_mm3;
        also_g += other.part_mass_g;
    }
    live["also_volume_mm3"] = also_mm3;
    live["also_mass_g"] = also_g;
    live["molds"] = 1 + foam.also.size();
    live["air_kpa"] = foam.air_kpa;
    live["polymer_kg_m3"] = kPolymer_kg_m3;
    live["mold_holds_kpa"] = foam.window.request.mold_holds_kpa;
    live["pressure_reserve"] = kPressureReserve;
    live["holes"] = {{"pour_hole_mm", foam.holes.pour_hole_width_mm},
                     {"vents", foam.holes.vents},
                     {"wall_mm", foam.holes.wall_mm}};
}

void add_batch(Json& live, const BatchRequest& batch) {
    live["flash_share"] = batch.flash_g / batch.part_mass_g;
    live["spare_g"] = batch.spare_g;
    live["waste_share"] = batch.waste_share;
    live["waste_film"] = batch.waste_film ? Json{{"stays_g", batch.waste_film->stays_g},
                                                 {"of_g", batch.waste_film->of_g}}
                                          : Json();
    live["cup_residue_g"] = batch.cup_residue_g;
    live["residue_spread"] = kResidueSpread;
    live["usual_residue_g"] = kUsualResidue_g;
    live["tared"] = batch.weighing == Weighing::tared;
    live["pigment_share"] = batch.pigment_share;
    live["scale_readability_g"] = batch.scale_readability_g;
    live["copies"] = batch.copies;
    live["largest_g"] = batch.largest_g;
    live["good_ratio_percent"] = kGoodRatioPercent;
    live["worst_ratio_percent"] = kWorstRatioPercent;
}

void add_bench(Json& live, const Plan& plan) {
    const BenchRequest& r = plan.bench->request;
    const std::optional<double>& viscosity = plan.request.bench.viscosity_pa_s;
    live["bench"] = {{"temperature_c", r.temperature_c},
                     {"trusted_step_k", kTrustedStep_k},
                     {"risen_share", kRisenShare},
                     {"stir_s", r.times.stir_s},
                     {"empty_cup_s", r.times.empty_cup_s},
                     {"close_s", r.times.close_s},
                     {"strap_s", r.times.strap_s},
                     {"turn_s", r.times.turn_s},
                     {"plug_s", r.times.plug_s},
                     {"brush_cm2_s", r.times.brush_cm2_s},
                     {"turn_grace_s", r.times.turn_grace_s},
                     {"viscosity_pa_s", number(viscosity)},
                     {"area_mm2", r.area_mm2},
                     {"open_half_mm3", r.open_half_mm3},
                     {"pour_hole_mm", r.pour_hole_width_mm},
                     {"has_pour_hole", r.has_pour_hole},
                     {"hole_length_mm", r.hole_length_mm},
                     {"funnel_head_mm", r.funnel_head_mm},
                     {"widest_hole_mm", number(r.widest_hole_mm)},
                     {"method", r.method ? Json(to_text(*r.method)) : Json()}};
}

}  // namespace

std::string live_json_text(const Plan& plan) {
    Json live = Json::object();
    if (plan.foam) {
        add_foam(live, plan);
        add_batch(live, plan.foam->batch.request);
    }
    if (plan.foam && plan.bench) {
        add_bench(live, plan);
    }
    return live.dump();
}

}  // namespace cavigram
