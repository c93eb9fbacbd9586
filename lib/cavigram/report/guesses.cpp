// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/guesses.h"

#include "cavigram/core/constants.h"
#include "cavigram/core/text.h"
#include "cavigram/report/page_detail.h"

namespace cavigram {

namespace {

std::string ranged(const Ranged& r) {
    return told_end(r.value, Kind::density, 3) + " (" + told_end(r.low, Kind::density, 3) + " to " +
           told_own(r.high, Kind::density, 3) + ")";
}

void add_foam(std::vector<Guess>& guesses, const Plan& plan) {
    const FoamBlock& foam = *plan.foam;
    const FoamOptions& asked = plan.request.foam;
    const bool from_card = foam.card.typical;
    const bool rise_known =
        asked.shop && (asked.shop->free_rise_kg_m3 || asked.shop->core_density_kg_m3);
    if (from_card && !rise_known) {
        guesses.push_back(
            {"free rise", ranged(foam.request.free_rise_kg_m3), "a card of your own, --foam"});
    }
    if (from_card && !asked.skin_density_kg_m3) {
        guesses.push_back({"skin", ranged(foam.request.skin_density_kg_m3), "--skin-density"});
    }
    const bool packed = foam.request.packing_factor.has_value() || foam.mixes.chosen;
    if (from_card && packed && !foam.predicted_g && !asked.overpack && !foam.mass.skin_measured) {
        guesses.push_back({"packing", significant(foam.card.packing.value, 3), "--overpack"});
    }
    if (!asked.mold_holds_kpa && !(plan.mold && plan.mold->holds_by_straps)) {
        guesses.push_back({"what the mold holds",
                           told_own(foam.window.request.mold_holds_kpa, Kind::pressure, 2),
                           "--mold-holds"});
    }
    const bool shop_waste = asked.shop && asked.shop->waste_castings > 0;
    if (!asked.waste_share && !asked.waste_film && !shop_waste) {
        guesses.push_back(
            {"what stays in the cup",
             significant(100.0 * plan.foam->batch.request.waste_share, 2) + " % of the pour",
             "--waste"});
    }
    if (!asked.cup_residue_g) {
        guesses.push_back({"what stays in A's own cup", "nothing", "--cup-residue"});
    }
    if (!asked.mold_wall_mm) {
        guesses.push_back(
            {"mold wall", told_own(foam.holes.wall_mm, Kind::length, 2), "--mold-wall"});
    }
    if (foam.density && foam.finish.rate_is_guess) {
        guesses.push_back(
            {"finish", told_own(foam.finish.rate_g_m2, Kind::areal_density, 2), "--finish"});
    }
}

// A figure that the options left as it was, as text; nothing where it was given.
void add_hands(std::vector<Guess>& guesses, const BenchTimes& times) {
    const BenchTimes usual;
    const auto add = [&](double value, double left, const char* what, const char* option) {
        if (value == left) {
            guesses.push_back({what, significant(value, 2) + " s", option});
        }
    };
    add(times.stir_s, usual.stir_s, "stirring", "--stir");
    add(times.close_s, usual.close_s, "closing", "--close");
    add(times.turn_s, usual.turn_s, "turning over", "--turn");
    add(times.strap_s, usual.strap_s, "strapping", "--strap");
    add(times.turn_grace_s, usual.turn_grace_s, "how long it still runs", "--turn-grace");
}

void add_bench(std::vector<Guess>& guesses, const Plan& plan) {
    const BenchOptions& asked = plan.request.bench;
    if (!asked.temperature_c) {
        guesses.push_back({"temperature of room and liquids",
                           told_own(plan.bench->temperature_c, Kind::temperature, 3),
                           "--temperature"});
    }
    add_hands(guesses, asked.times);
    if (plan.foam->card.typical && !asked.viscosity_pa_s) {
        guesses.push_back({"viscosity",
                           significant(1000.0 * plan.foam->card.viscosity_pa_s, 3) + " mPas",
                           "--viscosity"});
    }
}

void add_mold(std::vector<Guess>& guesses, const MoldBlock& mold) {
    const MoldOptions& asked = mold.request;
    if (mold.card.typical) {
        guesses.push_back({"rubber", told_own(mold.card.density_kg_m3, Kind::density, 3),
                           "a card of your own, --rubber-card"});
    }
    if (!asked.strap_holds_n) {
        guesses.push_back(
            {"what a strap's leg holds",
             told_own(1000.0 * mold.straps.leg_holds_n / kGravity_m_s2, Kind::mass, 2),
             "--strap-holds"});
    }
    if (mold.box && !asked.board_mm) {
        guesses.push_back(
            {"boards", told_own(mold.box->request.board_mm, Kind::length, 2), "--board"});
    }
    const bool plaster = mold.jacket && mold.request.jacket_of == JacketMaterial::plaster;
    if (plaster && !asked.water_per_plaster) {
        guesses.push_back({"water to plaster",
                           significant(mold.jacket->request.water_per_plaster, 2),
                           "--plaster-water"});
    }
}

}  // namespace

std::vector<Guess> guesses_of(const Plan& plan) {
    std::vector<Guess> guesses;
    if (plan.foam) {
        add_foam(guesses, plan);
    }
    if (plan.foam && plan.bench) {
        add_bench(guesses, plan);
    }
    if (plan.mold) {
        add_mold(guesses, *plan.mold);
    }
    if (plan.handle && !plan.handle->modulus_given) {
        const Ranged& core = plan.handle->core_modulus_mpa;
        guesses.push_back({"stiffness of the core",
                           significant(core.value, 2) + " MPa (" + significant(core.low, 2) +
                               " to " + significant(core.high, 2) + ")",
                           "--foam-modulus"});
    }
    if (plan.handle && !plan.request.handle.creep) {
        guesses.push_back({"how much more it droops after days",
                           significant(plan.handle->creep, 2) + " times", "--creep"});
    }
    if (plan.air && plan.air->necks &&
        plan.air->necks->options.width_mm == NeckOptions{}.width_mm) {
        guesses.push_back({"the narrowest neck that foam passes",
                           told_own(plan.air->necks->options.width_mm, Kind::length, 2), "--neck"});
    }
    if (plan.split && !plan.request.split.stretch_limit) {
        guesses.push_back({"what the rubber may stretch",
                           significant(100.0 * plan.split->found.request.stretch_limit, 2) + " %",
                           "--stretch-limit"});
    }
    if (plan.rise && plan.rise->rise.gel_guessed) {
        guesses.push_back(
            {"when it gels", significant(plan.rise->rise.gel_s, 3) + " s", "--gel-time"});
    }
    return guesses;
}

}  // namespace cavigram
