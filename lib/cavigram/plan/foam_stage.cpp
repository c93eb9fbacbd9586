// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/plan/foam_stage_detail.h"

namespace cavigram::detail {

namespace {

// How far a density or a skin that a person states may be off when no bounds come with it. Common
// practice, no source.
constexpr double kStatedSpread = 1.1;

Ranged stated(double value) {
    return {value, value / kStatedSpread, value * kStatedSpread};
}

// What the shop's castings say of core and skin. They know only the product (skin - core) *
// thickness, so the card's thickness stands and the skin's density follows; its range is that of
// the product.
void take_shop(FoamRequest& request, const ShopFit& shop) {
    const auto ranged = [](const Estimate& e) {
        return Ranged{e.value, e.value - e.plus_minus, e.value + e.plus_minus};
    };
    if (!shop.core_density_kg_m3 || !shop.skin_mass_per_area_g_m2) {
        throw InvalidInput(
            "The castings in the log can't tell skin from core yet; cavigram tally fit says what "
            "to cast next, or leave --from-tally out.");
    }
    const double t = request.skin_thickness_mm.value;
    const Ranged core = ranged(*shop.core_density_kg_m3);
    const Ranged surplus = ranged(*shop.skin_mass_per_area_g_m2);
    if (!(core.value > 0.0) || !(t > 0.0) || !(core.value + surplus.value / t > 0.0)) {
        throw InvalidInput(
            "The castings in the log give a core or a skin of no density; weigh more castings, or "
            "leave --from-tally out.");
    }
    request.skin_thickness_mm = {t, t, t};
    request.skin_density_kg_m3 = {core.value + surplus.value / t,
                                  std::max(1.0, core.value + surplus.low / t),
                                  core.value + surplus.high / t};
    request.skin_is_typical = false;
    if (request.basis == DensityBasis::free_rise && !request.overpack) {
        request.basis = DensityBasis::core;
        request.density_kg_m3 = {core.value, std::max(1.0, core.low), core.high};
    }
}

void add(std::vector<Finding>& findings, const std::vector<Finding>& more) {
    findings.insert(findings.end(), more.begin(), more.end());
}

// The depths at which the curve must be right.
std::vector<double> depths_of(const FoamRequest& foam) {
    const Ranged& t = foam.skin_thickness_mm;
    std::vector<double> depths = {t.value, t.high};
    if (foam.profile == SkinProfile::exponential) {
        // The integral over the curve draws on both sides of the decay length.
        depths = {0.5 * t.value, t.value, 2.0 * t.value, t.high};
    }
    std::erase_if(depths, [](double d) { return d <= 0.0; });
    return depths;
}

// The mass of another part under the same request; it must hold the same foam.
AlsoPoured weigh_also(FoamStage& stage, const std::filesystem::path& file, const FoamRequest& foam,
                      const PartRequest& like, const RunContext& context) {
    PartRequest request = like;
    request.file = file;
    const PreparedPart other = prepare_part(request, context);
    add(stage.findings, other.findings);
    const MassProperties mass = mass_properties(other.part.mesh(), context);
    const TriangleBvh index(other.part.mesh(), context);
    DepthOptions options;
    options.depths_mm = depths_of(foam);
    const DepthVolume depth = depth_volume(other.part.mesh(), index, options, context);
    CavityAmounts cavity;
    cavity.volume_mm3 = cavity.volume_low_mm3 = cavity.volume_high_mm3 = mass.volume_mm3;
    cavity.deepest_mm = depth.deepest.depth_mm;
    cavity.skin_curve = [&depth](double d) { return depth.skin_volume_mm3(d); };
    return {other.input.file, mass.volume_mm3, foam_mass(cavity, foam).part_mass_g};
}

void note_pressure(FoamStage& stage, const FoamCard& card) {
    FoamBlock& block = stage.block;
    constexpr double kPolymer_kg_m3 = 1100.0;    // gas-free polymer; from memory
    constexpr double kWorthAWarning_kpa = 50.0;  // common practice, no source
    const double mean = block.mass.molded_density_kg_m3;
    if (card.basis != DensityBasis::free_rise || mean >= kPolymer_kg_m3 ||
        card.density_kg_m3.value >= kPolymer_kg_m3) {
        return;
    }
    block.pressure_upper_kpa = gas_pressure_kpa(card.density_kg_m3.value, mean, kPolymer_kg_m3);
    if (mean < 0.98 * card.density_kg_m3.value) {
        stage.findings.push_back(
            {Severity::warning,
             "short_shot",
             format("At a mean of %s kg/m3 this foam, which rises freely "
                    "to %s, does not fill the mold.",
                    significant(mean, 3).c_str(), significant(card.density_kg_m3.value, 3).c_str()),
             {}});
    } else if (*block.pressure_upper_kpa > kWorthAWarning_kpa) {
        stage.findings.push_back({Severity::warning,
                                  "high_pressure",
                                  format("The foam may press with up to %s kPa, if no gas "
                                         "leaks; strap the mold well or pack less.",
                                         significant(*block.pressure_upper_kpa, 2).c_str()),
                                  {}});
    }
}

void note_guesses(FoamStage& stage, const FoamOptions& options, const FoamCard& card) {
    if (options.shop) {
        stage.findings.push_back(
            {Severity::note,
             "from_tally",
             format("Density, skin and waste come from %zu of this shop's own castings.",
                    options.shop->castings),
             {}});
        return;
    }
    if (!card.typical) {
        return;
    }
    stage.findings.push_back({Severity::note,
                              "typical_foam",
                              format("The foam card %s holds typical values, a guess for your "
                                     "foam; copy it (cavigram foams show "
                                     "generic-firm) and fill in your supplier's sheet.",
                                     card.name.c_str()),
                              {}});
}

// What the batch is told. \pre the stage's mass is settled
BatchRequest batch_request(FoamStage& stage, const FoamOptions& options, const FoamCard& card,
                           const FoamConditions& conditions, const RunContext& context) {
    BatchRequest request;
    request.part_mass_g = stage.block.mass.part_mass_g;
    for (const std::filesystem::path& file : options.also) {
        stage.block.also.push_back(
            weigh_also(stage, file, stage.block.request, conditions.part, context));
        request.part_mass_g += stage.block.also.back().part_mass_g;
    }
    request.largest_g = options.largest_batch_g.value_or(0.0);
    request.kit_a_g = card.kit_a_g;
    request.kit_b_g = card.kit_b_g;
    request.kit_price = card.kit_price;
    request.mix = card.mix;
    request.spare_g = options.spare_g;
    const std::optional<ShopFit>& shop = options.shop;
    if (options.waste_share) {
        request.waste_share = *options.waste_share;
    } else if (shop && shop->waste_castings > 1) {
        request.waste_share = std::clamp(shop->waste_share.value, 0.0, 0.9);
    }
    request.pigment_share = options.pigment_share;
    request.scale_readability_g = options.scale_readability_g;
    request.copies = options.copies;
    request.liquid_kg_m3 = mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    request.free_rise_kg_m3 = card.basis == DensityBasis::free_rise
                                  ? card.density_kg_m3.value
                                  : stage.block.mass.core_density_kg_m3;
    return request;
}

}  // namespace

FoamRequest foam_request(const FoamOptions& options, const FoamCard& card) {
    FoamRequest request;
    if (options.density_kg_m3) {
        request.basis = options.basis.value_or(options.overpack ? DensityBasis::free_rise
                                                                : DensityBasis::molded);
        // A goal for the whole part has no spread of its own; a property of the foam has.
        const double density = *options.density_kg_m3;
        request.density_kg_m3 = request.basis == DensityBasis::molded
                                    ? Ranged{density, density, density}
                                    : stated(density);
    } else {
        if (options.basis && *options.basis != card.basis) {
            throw InvalidInput(
                format("--basis %s needs a --density: the card %s states its density as %s.",
                       to_text(*options.basis), card.name.c_str(), to_text(card.basis)));
        }
        request.basis = card.basis;
        request.density_kg_m3 = card.density_kg_m3;
    }
    if (options.overpack && options.skin_thickness_mm) {
        throw InvalidInput(
            "--overpack and --skin-thickness settle the same thing; give one of them.");
    }
    request.overpack = options.overpack;
    request.skin_thickness_mm =
        options.skin_thickness_mm ? stated(*options.skin_thickness_mm) : card.skin_thickness_mm;
    request.skin_density_kg_m3 =
        options.skin_density_kg_m3 ? stated(*options.skin_density_kg_m3) : card.skin_density_kg_m3;
    request.profile = options.profile.value_or(card.skin_profile);
    request.skin_is_typical =
        card.typical && !options.skin_thickness_mm && !options.skin_density_kg_m3;
    if (options.shop) {
        take_shop(request, *options.shop);
    }
    return request;
}

FoamStage foam_stage(const FoamOptions& options, const FoamCard& card, const FoamRequest& request,
                     const FoamConditions& conditions, const RunContext& context) {
    FoamStage stage;
    FoamBlock& block = stage.block;
    block.card = card;
    block.request = request;
    context.report("skin", 0.0);
    DepthOptions depth;
    depth.depths_mm = depths_of(request);
    depth.cell_mm = options.cell_mm;
    block.depth = depth_volume(conditions.mesh, conditions.surface, depth, context);

    CavityAmounts cavity;
    cavity.volume_mm3 = conditions.measures.mass.volume_mm3;
    cavity.volume_low_mm3 = conditions.measures.volume_low_mm3;
    cavity.volume_high_mm3 = conditions.measures.volume_high_mm3;
    cavity.deepest_mm = block.depth.deepest.depth_mm;
    cavity.skin_curve = [&curve = block.depth](double d) { return curve.skin_volume_mm3(d); };
    const double thickness = request.skin_thickness_mm.value;
    const double skin = block.depth.skin_volume_mm3(thickness);
    block.skin_error_share = skin > 0.0 ? block.depth.error_mm3(thickness) / skin : 0.0;
    cavity.skin_error_share = block.skin_error_share;
    block.mass = foam_mass(cavity, request);
    add(stage.findings, block.mass.findings);
    note_guesses(stage, options, card);

    const BatchRequest wanted = batch_request(stage, options, card, conditions, context);
    stage.batch = batch(wanted);
    block.expansion_ratio = expansion_ratio(wanted.liquid_kg_m3, wanted.free_rise_kg_m3);
    block.liquid_share = block.mass.part_mass_g / wanted.liquid_kg_m3 * 1e6 / cavity.volume_mm3;
    note_pressure(stage, card);
    add(stage.findings, stage.batch.findings);
    return stage;
}

}  // namespace cavigram::detail
