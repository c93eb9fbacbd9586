// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/told.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/plan/air_foam_detail.h"
#include "cavigram/plan/also_stage_detail.h"
#include "cavigram/plan/foam_choice_detail.h"
#include "cavigram/plan/foam_stage_detail.h"
#include "cavigram/venting/vent_flow.h"

namespace cavigram::detail {

namespace {

void add(std::vector<Finding>& findings, const std::vector<Finding>& more) {
    findings.insert(findings.end(), more.begin(), more.end());
}

HolesFoam holes_of(const FoamBlock& block, const FoamOptions& options,
                   const FoamConditions& conditions) {
    HolesFoam holes;
    holes.pour_hole_width_mm = conditions.pour_hole_width_mm;
    holes.vents = conditions.vents;
    holes.wall_mm = options.mold_wall_mm.value_or(kMoldWall_mm);
    const double rate_ml_s = air_foam_of(block, conditions.temperature_c).rate_share_per_s *
                             conditions.measures.mass.volume_mm3 / 1000.0;
    holes.vent_width_mm =
        vent_size(1, {.growth_ml_s = rate_ml_s, .length_mm = holes.wall_mm}).drill_mm;
    const auto area = [](double d) { return std::numbers::pi / 4.0 * d * d; };
    holes.volume_mm3 =
        holes.wall_mm * (area(holes.pour_hole_width_mm) + holes.vents * area(holes.vent_width_mm));
    holes.mass_g = kGramsPerMm3 * block.mass.molded_density_kg_m3 * holes.volume_mm3;
    return holes;
}

// What waste is reckoned with: as given, the shop's own, or a share.
void set_waste(BatchRequest& request, const FoamOptions& options) {
    if (options.waste_film) {
        request.waste_film = options.waste_film;
    } else if (options.waste_share) {
        request.waste_share = *options.waste_share;
    } else if (options.shop && options.shop->waste_castings > 0) {
        constexpr double kFilmCup_g = 100.0;
        request.waste_film = WasteFilm{
            std::clamp(options.shop->film_at_100_g.value, 0.0, 0.9 * kFilmCup_g), kFilmCup_g};
    }
}

BatchRequest batch_request(const FoamBlock& block, const FoamOptions& options) {
    const FoamCard& card = block.card;
    BatchRequest request;
    request.part_mass_g = block.mass.part_mass_g;
    double molds = 1.0;
    for (const AlsoPoured& other : block.also) {
        request.part_mass_g += other.part_mass_g;
        molds += 1.0;
    }
    request.holes_g = molds * block.holes.mass_g;
    if (options.shop) {
        request.flash_g = flash_share(*options.shop) * request.part_mass_g;
    }
    request.largest_g = options.largest_batch_g.value_or(0.0);
    request.kit_a_g = card.kit_a_g;
    request.kit_b_g = card.kit_b_g;
    request.kit_price = card.kit_price;
    request.mix = card.mix;
    request.spare_g = options.spare_g;
    set_waste(request, options);
    request.cup_residue_g = options.cup_residue_g.value_or(0.0);
    request.weighing = options.weighing;
    request.pigment_share = options.pigment_share;
    request.scale_readability_g = options.scale_readability_g;
    request.scale_in_ounces = options.scale_in_ounces;
    request.copies = options.copies;
    request.liquid_kg_m3 = mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    request.free_rise_kg_m3 = block.mass.free_rise_kg_m3;
    return request;
}

PourWindow window_of(const FoamBlock& block, const FoamOptions& options,
                     const MeasuresBlock& measures, double part_mass_g) {
    WindowRequest request;
    request.planned_g = part_mass_g + block.holes.mass_g;
    request.volume_mm3 = measures.mass.volume_mm3 + block.holes.volume_mm3;
    request.volume_low_mm3 = measures.volume_low_mm3 + block.holes.volume_mm3;
    request.volume_high_mm3 = measures.volume_high_mm3 + block.holes.volume_mm3;
    request.free_rise_kg_m3 = block.request.free_rise_kg_m3;
    request.mold_holds_kpa = options.mold_holds_kpa.value_or(kMoldHolds_kpa);
    request.air_kpa = options.air_kpa;
    return pour_window(request);
}

// The other way to the same density, down to its grams.
std::optional<OtherMix> other_mix(const FoamBlock& block, const FoamOptions& options,
                                  const std::vector<FoamCard>& family) {
    FoamChoice taken;
    taken.card = block.card;
    taken.basis = block.basis;
    taken.mix_chosen = block.mixes.chosen;
    const std::optional<FoamChoice> way = other_way(options, family, taken);
    if (!way) {
        return std::nullopt;
    }
    OtherMix other;
    other.mix = way->card.mix;
    const double rise = way->request.free_rise_kg_m3.value;
    const double mean = block.mass.molded_density_kg_m3;
    other.packing_factor = mean / rise;
    other.firmer = other.mix.a / other.mix.b > block.card.mix.a / block.card.mix.b;
    if (other.packing_factor >= 1.0 - 1e-9) {
        BatchRequest request = block.batch.request;
        request.mix = other.mix;
        const Batch cup = batch(request);
        other.part_a_g = cup.part_a_g;
        other.part_b_g = cup.part_b_g;
        other.pressure_kpa = gas_pressure_kpa(rise, mean, kPolymer_kg_m3, options.air_kpa);
    }
    return other;
}

// What the shop's castings really set here, each with how many of them say so.
void note_shop(FoamStage& stage, const FoamOptions& options) {
    const ShopFit& shop = *options.shop;
    std::string set;
    const auto add_set = [&set](bool really, const char* what, std::size_t castings) {
        if (really && castings > 0) {
            set += fmt::format("{}{} ({})", set.empty() ? "" : ", ", what, castings);
        }
    };
    add_set(stage.block.predicted_g.has_value(), "the part's mass", shop.castings);
    if (shop.free_rise_kg_m3) {
        add_set(true, "free rise, by cups that rose freely", shop.free_rise_cups);
    } else {
        add_set(shop.core_density_kg_m3 && shop.core_density_kg_m3->value > 0.0,
                "free rise, by the core", shop.castings);
    }
    add_set(!options.waste_film && !options.waste_share, "what stays in the cup",
            shop.waste_castings);
    add_set(true, "flash", shop.flash_castings);
    stage.findings.push_back(
        {Severity::note,
         "from_tally",
         set.empty() ? "This shop's own castings set nothing here: all that they tell is given."
                     : fmt::format("From this shop's own castings (how many): {}.", set),
         {}});
}

void note_foam(FoamStage& stage, const FoamOptions& options) {
    if (options.shop) {
        note_shop(stage, options);
    }
    if (options.density_kg_m3 && options.overpack && !options.basis) {
        stage.findings.push_back(
            {Severity::note,
             "density_as_free_rise",
             fmt::format("With {} the {} of {} are taken for the foam's free rise, and the part "
                         "comes out at {}; if they are the part's own, say {} molded.",
                         setting("overpack"), told_own(*options.density_kg_m3, Kind::density, 3),
                         setting("density"),
                         told(stage.block.mass.molded_density_kg_m3, Kind::density),
                         setting("basis")),
             {}});
    }
}

}  // namespace

FoamStage foam_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions, std::vector<PartNodes>& others,
                     const RunContext& context) {
    FoamStage stage = skin_stage(options, family, conditions);
    FoamBlock& block = stage.block;
    note_foam(stage, options);
    AlsoStage also = also_stage(options.also, conditions.part, block, others, context);
    block.also = std::move(also.parts);
    add(stage.findings, also.findings);
    block.holes = holes_of(block, options, conditions);
    block.window = window_of(block, options, conditions.measures, block.mass.part_mass_g);
    add(stage.findings, block.window.findings);
    for (AlsoPoured& other : block.also) {
        other.window = window_of(block, options, other.measures, other.part_mass_g);
        add_named(stage.findings, other.window.findings, other.input.file);
    }
    const BatchRequest wanted = batch_request(block, options);
    block.batch = batch(wanted);
    block.finish = finish(conditions.measures.mass.area_mm2, options.finish_g_m2, options.copies);
    block.mixes.other = other_mix(block, options, family);
    block.expansion_ratio = expansion_ratio(wanted.liquid_kg_m3, block.mass.free_rise_kg_m3);
    block.liquid_share =
        block.mass.part_mass_g / wanted.liquid_kg_m3 * 1e6 / conditions.measures.mass.volume_mm3;
    add(stage.findings, block.batch.findings);
    return stage;
}

}  // namespace cavigram::detail
