// SPDX-License-Identifier: GPL-3.0-or-later
#include <nlohmann/json.hpp>

#include "cavigram/report/live_detail.h"

namespace cavigram {

namespace {

using Json = nlohmann::ordered_json;

Json ranged(const Ranged& r) {
    return {{"value", r.value}, {"low", r.low}, {"high", r.high}};
}

Json mixes_json(const FoamBlock& foam) {
    Json mixes = Json::array();
    for (const KnownMix& known : foam.mixes) {
        const FoamCard& card = known.card;
        mixes.push_back({{"mix_a", card.mix.a},
                         {"mix_b", card.mix.b},
                         {"free_rise_kg_m3", ranged(known.free_rise_kg_m3)},
                         {"skin_density_kg_m3", card.skin_density_kg_m3.value},
                         {"liquid_a_kg_m3", card.liquid_a_kg_m3},
                         {"liquid_b_kg_m3", card.liquid_b_kg_m3},
                         {"viscosity_pa_s", card.viscosity_pa_s},
                         {"work_time_s", card.work_time_s},
                         {"rise_time_s", card.rise_time_s},
                         {"demold_min_s", card.demold_min_s},
                         {"demold_max_s", card.demold_max_s}});
    }
    return mixes;
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
    live["free_rise_kg_m3"] = ranged(foam.request.free_rise_kg_m3);
    live["packing_factor"] = foam.mass.packing_factor;
    live["skin_density_kg_m3"] = foam.mass.skin_density_kg_m3;
    live["skin_measured"] = foam.mass.skin_measured;
    live["skin_volume_mm3"] = foam.mass.skin_volume_mm3;
    live["mixes"] = mixes_json(foam);
    live["wanted_packing"] = asked.overpack.value_or(foam.card.packing.value);
    live["skin_density_given"] = asked.skin_density_kg_m3.has_value();
    // A measured skin settles the mix by its own volume in each mix, and an overpack with a fixed
    // mix leaves nothing to choose: the density stands.
    live["density_fixed"] = (foam.mass.skin_measured && foam.mixes.size() > 1) ||
                            (asked.overpack.has_value() && foam.mixes.size() == 1);
    double also_mm3 = 0.0;
    double also_g = 0.0;
    for (const AlsoPoured& other : foam.also) {
        also_mm3 += other.volume_mm3;
        also_g += other.part_mass_g;
    }
    live["also_volume_mm3"] = also_mm3;
    live["also_mass_g"] = also_g;
    live["molds"] = 1 + foam.also.size();
    live["air_kpa"] = foam.air_kpa;
    live["polymer_kg_m3"] = kPolymer_kg_m3;
    live["mold_holds_kpa"] = foam.window.mold_holds_kpa;
    live["pressure_reserve"] = kPressureReserve;
    live["holes"] = {{"pour_hole_mm", foam.holes.pour_hole_mm},
                     {"vents", foam.holes.vents},
                     {"vent_mm", foam.holes.vent_mm},
                     {"wall_mm", foam.holes.wall_mm}};
    live["currency"] = foam.card.currency;
}

void add_batch(Json& live, const BatchRequest& batch) {
    live["mix_a"] = batch.mix.a;
    live["mix_b"] = batch.mix.b;
    live["flash_g"] = batch.flash_g;
    live["spare_g"] = batch.spare_g;
    live["waste_share"] = batch.waste_share;
    live["waste_film"] = batch.waste_film ? Json{{"stays_g", batch.waste_film->stays_g},
                                                 {"of_g", batch.waste_film->of_g}}
                                          : Json();
    live["cup_residue_g"] = batch.cup_residue_g;
    live["residue_spread"] = kResidueSpread;
    live["tared"] = batch.weighing == Weighing::tared;
    live["pigment_share"] = batch.pigment_share;
    live["scale_readability_g"] = batch.scale_readability_g;
    live["copies"] = batch.copies;
    live["largest_g"] = batch.largest_g;
    live["liquid_kg_m3"] = batch.liquid_kg_m3;
    live["kit_a_g"] = batch.kit_a_g;
    live["kit_b_g"] = batch.kit_b_g;
    live["kit_price"] = batch.kit_price;
    live["good_ratio_percent"] = kGoodRatioPercent;
}

}  // namespace

std::string live_json_text(const Plan& plan) {
    Json live = Json::object();
    if (plan.foam && plan.batch) {
        add_foam(live, plan);
        add_batch(live, plan.batch->request);
    }
    if (plan.foam && plan.bench) {
        const BenchRequest& r = plan.bench->request;
        const FoamCard& card = plan.foam->card;
        live["bench"] = {{"temperature_c", r.temperature_c},
                         {"at_c", card.at_c},
                         {"work_time_s", card.work_time_s},
                         {"rise_time_s", card.rise_time_s},
                         {"curve", to_text(r.curve)},
                         {"risen_share", kRisenShare},
                         {"demold_min_s", card.demold_min_s},
                         {"demold_max_s", card.demold_max_s},
                         {"halving_k", r.rule.halving_k},
                         {"activation_kj_mol",
                          r.rule.activation_kj_mol ? Json(*r.rule.activation_kj_mol) : Json()},
                         {"trusted_step_k", kTrustedStep_k},
                         {"stir_s", r.times.stir_s},
                         {"empty_cup_s", r.times.empty_cup_s},
                         {"close_s", r.times.close_s},
                         {"strap_s", r.times.strap_s},
                         {"turn_s", r.times.turn_s},
                         {"plug_s", r.times.plug_s},
                         {"turn_grace_s", r.times.turn_grace_s},
                         {"molds", r.molds},
                         {"packing_factor", r.packing_factor},
                         {"expansion_ratio", r.expansion_ratio},
                         {"cavity_mm3", r.cavity_mm3},
                         {"brush_cm2_s", r.times.brush_cm2_s},
                         {"hole_flow_ml_s", plan.bench->hole_flow_ml_s},
                         {"liquid_kg_m3", r.liquid_kg_m3},
                         {"area_mm2", r.area_mm2},
                         {"open_half_mm3", r.open_half_mm3},
                         {"pour_hole_mm", r.pour_hole_mm},
                         {"has_pour_hole", r.has_pour_hole},
                         {"widest_hole_mm", r.widest_hole_mm ? Json(*r.widest_hole_mm) : Json()},
                         {"method", r.method ? Json(to_text(*r.method)) : Json()}};
    }
    return live.dump();
}

}  // namespace cavigram
