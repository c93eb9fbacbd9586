// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/mix_choice.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/plan/air_foam_detail.h"
#include "cavigram/plan/foam_stage_detail.h"
#include "cavigram/venting/vent_flow.h"

namespace cavigram::detail {

namespace {

constexpr double kGramsPerMm3 = 1e-6;  // of 1 kg/m3

void add(std::vector<Finding>& findings, const std::vector<Finding>& more) {
    findings.insert(findings.end(), more.begin(), more.end());
}

double flash_share(const ShopFit& shop) {
    return shop.flash_castings > 0 ? std::max(0.0, shop.flash_share.value) : 0.0;
}

// One cup alone has no interval of its own: as wide as a stated density.
Ranged measured_range(const Estimate& e) {
    constexpr double kOneCup = 0.1;  // of the value; common practice, no source
    const double spread = std::isfinite(e.plus_minus) ? e.plus_minus : kOneCup * e.value;
    return {e.value, std::max(1.0, e.value - spread), e.value + spread};
}

// What the shop's castings say replaces the card's figures: free rise from the cups that rose
// freely, else from the line through the castings; the part's mass from that line, unless a density
// is asked for. What is predicted holds the flash, which is trimmed off.
void take_shop(FoamChoice& choice, FoamBlock& block, const FoamOptions& options,
               double volume_mm3) {
    const ShopFit& shop = *options.shop;
    if (shop.core_below_free_rise) {
        throw InvalidInput(
            "The castings in the log give a core that is lighter than the foam rose freely in the "
            "cups, which can't be; cavigram tally fit shows both: correct the log, or leave "
            "--from-tally out.");
    }
    FoamRequest& request = choice.request;
    if (shop.free_rise_kg_m3) {
        request.free_rise_kg_m3 = measured_range(*shop.free_rise_kg_m3);
    } else if (shop.core_density_kg_m3 && shop.core_density_kg_m3->value > 0.0) {
        request.free_rise_kg_m3 = measured_range(*shop.core_density_kg_m3);
    }
    if (options.density_kg_m3 || options.overpack || !shop.line) {
        return;
    }
    const double skin_area_mm2 = block.depth.skin_volume_mm3(kSkinReference_mm) / kSkinReference_mm;
    Estimate part = predicted_mass_g(shop, volume_mm3, skin_area_mm2);
    const double trimmed = 1.0 / (1.0 + flash_share(shop));
    part.value *= trimmed;
    part.plus_minus *= trimmed;
    block.predicted_g = part;
    request.skin_thickness_mm = std::nullopt;
    request.packing_factor = std::nullopt;
    request.molded_density_kg_m3 = part.value / (kGramsPerMm3 * volume_mm3);
}

// Thinner skins than this are on the curve's straight beginning, where no cell is needed: as a
// share of volume over area, which is a third of a ball's radius and half of a plate's thickness.
constexpr double kThinSkin = 0.05;

// The depths at which the curve must be right: around the skin, which for a derived one is known
// only as its volume, and is a little deeper than volume over area.
std::vector<double> depths_of(const FoamRequest& request, const MassProperties& mass) {
    double t = 0.0;
    double most = 0.0;
    if (request.skin_thickness_mm) {
        t = request.skin_thickness_mm->value;
        most = request.skin_thickness_mm->high;
    } else {
        const double rise = request.free_rise_kg_m3.value;
        const double mean =
            request.molded_density_kg_m3.value_or(request.packing_factor.value_or(1.0) * rise);
        const double surplus = std::max(1.0, request.skin_density_kg_m3.value - rise);
        const double share = std::clamp((mean - rise) / surplus, 0.0, 1.0);
        t = share * mass.volume_mm3 / mass.area_mm2;
        most = 2.0 * t;
    }
    const double least = kThinSkin * mass.volume_mm3 / mass.area_mm2;
    std::vector<double> depths = {std::max(t, least), std::max(most, least)};
    if (request.profile == SkinProfile::exponential) {
        // The integral over the curve draws on both sides of the decay length.
        depths = {std::max(0.5 * t, least), std::max(t, least), std::max(2.0 * t, least),
                  std::max(most, least)};
    }
    return depths;
}

CavityAmounts cavity_of(const MeasuresBlock& measures, const DepthVolume& depth) {
    CavityAmounts cavity;
    cavity.volume_mm3 = measures.mass.volume_mm3;
    cavity.volume_low_mm3 = measures.volume_low_mm3;
    cavity.volume_high_mm3 = measures.volume_high_mm3;
    cavity.deepest_mm = depth.deepest.depth_mm;
    cavity.skin_curve = [&depth](double d) { return depth.skin_volume_mm3(d); };
    return cavity;
}

// The mass of another part of the same foam: of the same mean density, unless a measured skin
// settles the mean of each part by its own shape.
AlsoPoured weigh_also(FoamStage& stage, const AlsoPart& part, const PartRequest& like,
                      const RunContext& context) {
    PartRequest request = like;
    request.file = part.file;
    if (part.units) {  // its own size, whatever the first is scaled to
        request.units = part.units;
        request.longest_mm = std::nullopt;
    }
    const PreparedPart other = prepare_part(request, context);
    add(stage.findings, other.findings);
    MeasuresBlock measures;
    measures.mass = mass_properties(other.part.mesh(), context);
    measures.volume_low_mm3 = measures.volume_high_mm3 = measures.mass.volume_mm3;
    const FoamRequest& foam = stage.block.request;
    double mass_g = kGramsPerMm3 * stage.block.mass.molded_density_kg_m3 * measures.mass.volume_mm3;
    if (!foam.molded_density_kg_m3 && !foam.packing_factor) {
        const TriangleBvh index(other.part.mesh(), context);
        DepthOptions options;
        options.depths_mm = depths_of(foam, measures.mass);
        const DepthVolume depth = depth_volume(other.part.mesh(), index, options, context);
        mass_g = foam_mass(cavity_of(measures, depth), foam).part_mass_g;
    }
    return {other.input.file, measures.mass.volume_mm3, mass_g};
}

HolesFoam holes_of(const FoamStage& stage, const FoamOptions& options,
                   const FoamConditions& conditions) {
    HolesFoam holes;
    holes.pour_hole_mm = conditions.pour_hole_mm;
    holes.vents = conditions.vents;
    holes.wall_mm = options.mold_wall_mm.value_or(kMoldWall_mm);
    const double rate_ml_s = air_foam_of(stage.block, conditions.temperature_c).rate_share_per_s *
                             conditions.measures.mass.volume_mm3 / 1000.0;
    holes.vent_mm = vent_size(1, {.growth_ml_s = rate_ml_s, .length_mm = holes.wall_mm}).drill_mm;
    const auto area = [](double d) { return std::numbers::pi / 4.0 * d * d; };
    holes.volume_mm3 =
        holes.wall_mm * (area(holes.pour_hole_mm) + holes.vents * area(holes.vent_mm));
    holes.mass_g = kGramsPerMm3 * stage.block.mass.molded_density_kg_m3 * holes.volume_mm3;
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
                     const MeasuresBlock& measures) {
    WindowRequest request;
    request.planned_g = block.mass.part_mass_g + block.holes.mass_g;
    request.volume_mm3 = measures.mass.volume_mm3 + block.holes.volume_mm3;
    request.volume_low_mm3 = measures.volume_low_mm3 + block.holes.volume_mm3;
    request.volume_high_mm3 = measures.volume_high_mm3 + block.holes.volume_mm3;
    request.free_rise_kg_m3 = block.request.free_rise_kg_m3;
    request.mold_holds_kpa = options.mold_holds_kpa.value_or(kMoldHolds_kpa);
    request.air_kpa = options.air_kpa;
    return pour_window(request);
}

// The other way to the same density, down to its grams.
std::optional<OtherMix> other_mix(const FoamStage& stage, const FoamOptions& options,
                                  const std::vector<FoamCard>& family) {
    FoamChoice taken;
    taken.card = stage.block.card;
    taken.basis = stage.block.basis;
    taken.mix_chosen = stage.block.mix_chosen;
    const std::optional<FoamChoice> way = other_way(options, family, taken);
    if (!way) {
        return std::nullopt;
    }
    OtherMix other;
    other.mix = way->card.mix;
    const double rise = way->request.free_rise_kg_m3.value;
    const double mean = stage.block.mass.molded_density_kg_m3;
    other.packing_factor = mean / rise;
    other.firmer = other.mix.a / other.mix.b > stage.block.card.mix.a / stage.block.card.mix.b;
    if (other.packing_factor >= 1.0 - 1e-9) {
        BatchRequest request = stage.batch->request;
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

// Skin and core over the curve again, against the mass.
double closes_to(const CavityAmounts& cavity, const FoamMass& mass, SkinProfile profile) {
    if (mass.unfilled_mm3 > 0.0) {
        return 0.0;
    }
    return std::abs(integrated_mass_g(cavity, mass, profile) / mass.part_mass_g - 1.0);
}

}  // namespace

FoamStage skin_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions, const RunContext& context) {
    FoamStage stage;
    FoamBlock& block = stage.block;
    const MassProperties& measured = conditions.measures.mass;
    FoamChoice choice = choose_foam(options, family);
    context.report("skin", 0.0);
    DepthOptions depth;
    depth.depths_mm = depths_of(choice.request, measured);
    if (options.shop) {
        depth.depths_mm.push_back(kSkinReference_mm);
    }
    depth.cell_mm = options.cell_mm;
    block.depth = depth_volume(conditions.mesh, conditions.surface, depth, context);
    const CavityAmounts cavity = cavity_of(conditions.measures, block.depth);
    if (choice.request.skin_thickness_mm) {
        block.measured_skin_mm3 =
            effective_skin_volume_mm3(cavity.skin_curve, cavity.deepest_mm, choice.request.profile,
                                      choice.request.skin_thickness_mm->value);
    }
    if (options.shop) {
        take_shop(choice, block, options, cavity.volume_mm3);
    }
    if (block.measured_skin_mm3 && choice.mix_chosen) {
        choice = choose_foam(options, family, *block.measured_skin_mm3 / cavity.volume_mm3);
    }
    block.card = choice.card;
    block.request = choice.request;
    block.basis = choice.basis;
    block.wanted_kg_m3 = choice.wanted_kg_m3;
    block.mix_chosen = choice.mix_chosen;
    block.mix_clamped = choice.mix_clamped;
    block.air_kpa = options.air_kpa;
    block.mixes = known_mixes(options, family);
    block.mix_is_open = mix_is_open(options, family);
    block.packing_for_density = options.overpack.value_or(family.front().packing.value);
    block.mass = foam_mass(cavity, block.request);
    if (block.predicted_g && std::isfinite(block.predicted_g->plus_minus)) {
        block.mass.part_mass_low_g =
            std::min(block.mass.part_mass_low_g,
                     std::max(0.0, block.predicted_g->value - block.predicted_g->plus_minus));
        block.mass.part_mass_high_g = std::max(
            block.mass.part_mass_high_g, block.predicted_g->value + block.predicted_g->plus_minus);
    }
    add(stage.findings, block.mass.findings);
    const double thickness = block.mass.skin_thickness_mm;
    const double skin = block.depth.skin_volume_mm3(thickness);
    block.skin_error_share = skin > 0.0 ? block.depth.error_mm3(thickness) / skin : 0.0;
    block.skin_closes_to_share = closes_to(cavity, block.mass, block.request.profile);
    constexpr double kRounding = 1e-9;
    if (block.skin_closes_to_share > kRounding) {
        // A bug, and not a word of the grams could be trusted.
        throw std::logic_error("skin and core don't add up to the mass that they came from");
    }
    return stage;
}

FoamStage foam_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions, const RunContext& context) {
    FoamStage stage = skin_stage(options, family, conditions, context);
    FoamBlock& block = stage.block;
    note_foam(stage, options);
    for (const AlsoPart& part : options.also) {
        block.also.push_back(weigh_also(stage, part, conditions.part, context));
    }
    block.holes = holes_of(stage, options, conditions);
    block.window = window_of(block, options, conditions.measures);
    add(stage.findings, block.window.findings);
    const BatchRequest wanted = batch_request(block, options);
    stage.batch = batch(wanted);
    block.other = other_mix(stage, options, family);
    block.expansion_ratio = expansion_ratio(wanted.liquid_kg_m3, block.mass.free_rise_kg_m3);
    block.liquid_share =
        block.mass.part_mass_g / wanted.liquid_kg_m3 * 1e6 / conditions.measures.mass.volume_mm3;
    add(stage.findings, stage.batch->findings);
    return stage;
}

}  // namespace cavigram::detail
