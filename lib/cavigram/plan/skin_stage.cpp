// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/plan/skin_stage_detail.h"

namespace cavigram::detail {

namespace {

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
        throw InvalidInput(fmt::format(
            "The castings in the log give a core that is lighter than the foam rose freely in the "
            "cups, which can't be; the fit of the log shows both: correct the log, or leave {} "
            "out.",
            setting("from-tally")));
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
    const double skin_area_mm2 =
        block.skin.depth.skin_volume_mm3(kSkinReference_mm) / kSkinReference_mm;
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

// Skin and core over the curve again, against the mass.
double closes_to(const CavityAmounts& cavity, const FoamMass& mass, SkinProfile profile) {
    if (mass.unfilled_mm3 > 0.0) {
        return 0.0;
    }
    return std::abs(integrated_mass_g(cavity, mass, profile) / mass.part_mass_g - 1.0);
}

void take_choice(FoamBlock& block, const FoamChoice& choice, const FoamOptions& options,
                 const std::vector<FoamCard>& family) {
    block.card = choice.card;
    block.request = choice.request;
    block.basis = choice.basis;
    block.wanted_kg_m3 = choice.wanted_kg_m3;
    block.air_kpa = options.air_kpa;
    block.mixes.chosen = choice.mix_chosen;
    block.mixes.clamped = choice.mix_clamped;
    block.mixes.known = known_mixes(options, family);
    block.mixes.open = mix_is_open(options, family);
    block.mixes.packing_for_density = options.overpack.value_or(family.front().packing.value);
}

// The part's range holds what the castings predict of it.
void widen_to_prediction(FoamBlock& block) {
    if (!block.predicted_g || !std::isfinite(block.predicted_g->plus_minus)) {
        return;
    }
    const double value = block.predicted_g->value;
    const double spread = block.predicted_g->plus_minus;
    FoamMass& mass = block.mass;
    mass.part_mass_low_g = std::min(mass.part_mass_low_g, std::max(0.0, value - spread));
    mass.part_mass_high_g = std::max(mass.part_mass_high_g, value + spread);
}

// How well the skin's volume is known, and whether skin and core add up to the mass that they came
// from.
void judge_skin(FoamBlock& block, const CavityAmounts& cavity) {
    const double thickness = block.mass.skin_thickness_mm;
    const double volume = block.skin.depth.skin_volume_mm3(thickness);
    block.skin.error_share = volume > 0.0 ? block.skin.depth.error_mm3(thickness) / volume : 0.0;
    block.skin.closes_to_share = closes_to(cavity, block.mass, block.request.profile);
    constexpr double kRounding = 1e-9;
    if (block.skin.closes_to_share > kRounding) {
        // A bug, and not a word of the grams could be trusted.
        throw std::logic_error("skin and core don't add up to the mass that they came from");
    }
}

}  // namespace

double flash_share(const ShopFit& shop) {
    return shop.flash_castings > 0 ? std::max(0.0, shop.flash_share.value) : 0.0;
}

std::vector<double> skin_depths_mm(const FoamRequest& request, const MassProperties& mass) {
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

CavityAmounts cavity_amounts(const MeasuresBlock& measures, const DepthVolume& depth) {
    CavityAmounts cavity;
    cavity.volume_mm3 = measures.mass.volume_mm3;
    cavity.volume_low_mm3 = measures.volume_low_mm3;
    cavity.volume_high_mm3 = measures.volume_high_mm3;
    cavity.deepest_mm = depth.deepest.depth_mm;
    cavity.skin_curve = [&depth](double d) { return depth.skin_volume_mm3(d); };
    return cavity;
}

DepthOptions skin_depth_options(const FoamOptions& options, const FoamChoice& choice,
                                const MassProperties& mass) {
    DepthOptions depth;
    depth.depths_mm = skin_depths_mm(choice.request, mass);
    if (options.shop) {
        depth.depths_mm.push_back(kSkinReference_mm);
    }
    depth.cell_mm = options.cell_mm;
    return depth;
}

FoamStage skin_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions) {
    FoamStage stage;
    FoamBlock& block = stage.block;
    FoamChoice choice = choose_foam(options, family);
    block.skin.depth = conditions.depth;
    const CavityAmounts cavity = cavity_amounts(conditions.measures, block.skin.depth);
    if (choice.request.skin_thickness_mm) {
        block.skin.measured_mm3 =
            effective_skin_volume_mm3(cavity.skin_curve, cavity.deepest_mm, choice.request.profile,
                                      choice.request.skin_thickness_mm->value);
    }
    if (options.shop) {
        take_shop(choice, block, options, cavity.volume_mm3);
    }
    if (block.skin.measured_mm3 && choice.mix_chosen) {
        choice = choose_foam(options, family, *block.skin.measured_mm3 / cavity.volume_mm3);
    }
    take_choice(block, choice, options, family);
    block.mass = foam_mass(cavity, block.request);
    widen_to_prediction(block);
    stage.findings = block.mass.findings;
    judge_skin(block, cavity);
    return stage;
}

}  // namespace cavigram::detail
