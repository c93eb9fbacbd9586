// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/plan.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/plan/bench_stage_detail.h"
#include "cavigram/plan/cautions.h"

namespace cavigram {

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
    const double t = request.skin_thickness_mm.value;
    const Ranged core = ranged(shop.core_density_kg_m3);
    const Ranged surplus = ranged(shop.skin_mass_per_area_g_m2);
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

// Composes the stages; what two of them need is made once.
class Planner {
  public:
    Planner(const PlanRequest& request, const RunContext& context)
        : request_(request), context_(context), air_(request.air) {}

    Plan run(const Stages& stages) {
        // Options are settled before the part is read: a typing error must not cost a minute of
        // waiting.
        const FoamCard card = card_of(request_.foam);
        const FoamRequest foam = foam_request(request_.foam, card);
        PreparedPart prepared = prepare_part(request_.part, context_);
        plan_.input = std::move(prepared.input);
        plan_.part = std::move(prepared.part);
        take(prepared.findings);
        measure();
        if (stages.thin) {
            thin(foam.skin_thickness_mm.value, stages.foam);
        }
        if (stages.foam) {
            weigh(card, foam);
            plan_.foam->density = density();
            plan_.finish = finish(plan_.measures.mass.area_mm2, request_.foam.finish_g_m2,
                                  request_.foam.copies);
        }
        if (stages.orient) {
            orient();
        }
        if (stages.air) {
            vent(card);
        }
        if (stages.foam && stages.bench) {
            bench(card);
        }
        if (stages.display) {
            plan_.display = display_block(plan_, surface(), context_);
            if (stages.air && stages.orient) {
                show_ways();
            }
        }
        if (stages.foam || stages.air || stages.orient) {
            plan_.cautions = pouring_cautions();
        }
        return std::move(plan_);
    }

  private:
    [[nodiscard]] const TriMesh& mesh() const { return plan_.part->mesh(); }

    const TriangleBvh& surface() {
        if (!surface_) {
            context_.report("indexing", 0.0);
            surface_.emplace(mesh(), context_);
        }
        return *surface_;
    }

    const AirTreeBuilder& solid() {
        if (!solid_) {
            context_.report("air", 0.0);
            solid_.emplace(*plan_.part, AirTreeOptions{}, context_);
        }
        return *solid_;
    }

    void take(const std::vector<Finding>& findings) {
        plan_.findings.insert(plan_.findings.end(), findings.begin(), findings.end());
    }

    void measure() {
        MeasuresBlock& measures = plan_.measures;
        const Part& part = *plan_.part;
        measures.mass = mass_properties(mesh(), context_);
        measures.volume_low_mm3 = std::max(0.0, measures.mass.volume_mm3 - part.volume_below_mm3());
        measures.volume_high_mm3 = measures.mass.volume_mm3 + part.volume_above_mm3();
        measures.shells = part.shells().count;
        std::size_t used = 0;
        std::vector<bool> seen(mesh().vertices.size(), false);
        for (const Triangle& t : mesh().triangles) {
            for (const std::int32_t v : t) {
                used += seen[static_cast<std::size_t>(v)] ? 0 : 1;
                seen[static_cast<std::size_t>(v)] = true;
            }
        }
        // V - E + F with E = 3F/2 on a closed surface.
        const long euler = static_cast<long>(used) - static_cast<long>(mesh().triangles.size() / 2);
        measures.genus = static_cast<int>(measures.shells - euler / 2);
    }

    void thin(double skin_mm, bool with_density) {
        ThinBlock block;
        block.skin_mm = skin_mm;
        block.limit_mm = request_.thin_limit_mm.value_or(std::max(2.0 * skin_mm, kHardToFill_mm));
        context_.report("thickness", 0.0);
        ThicknessOptions sampling;
        sampling.cap_mm = std::max(kShownOverLimit * block.limit_mm,
                                   with_density ? least_cap_mm(DensityMapOptions{}) : 0.0);
        block.map = thickness_map(mesh(), plan_.part->adjacent(), surface(), sampling, context_);
        ThinOptions options;
        options.limit_mm = block.limit_mm;
        options.skin_mm = skin_mm;
        options.flow_gap_mm = kHardToFill_mm;
        block.regions = thin_regions(plan_.part->adjacent(), block.map, options);
        for (const ThinRegion& region : block.regions.regions) {
            block.all_skin_area_mm2 += region.all_skin ? region.area_mm2 : 0.0;
        }
        plan_.thin = std::move(block);
    }

    void weigh(const FoamCard& card, const FoamRequest& foam) {
        FoamBlock block;
        block.card = card;
        block.request = foam;
        context_.report("skin", 0.0);
        DepthOptions depth;
        depth.depths_mm = {foam.skin_thickness_mm.value, foam.skin_thickness_mm.high};
        std::erase_if(depth.depths_mm, [](double d) { return d <= 0.0; });
        depth.cell_mm = request_.foam.cell_mm;
        block.depth = depth_volume(mesh(), surface(), depth, context_);

        CavityAmounts cavity;
        cavity.volume_mm3 = plan_.measures.mass.volume_mm3;
        cavity.volume_low_mm3 = plan_.measures.volume_low_mm3;
        cavity.volume_high_mm3 = plan_.measures.volume_high_mm3;
        cavity.deepest_mm = block.depth.deepest.depth_mm;
        cavity.skin_curve = [&depth_curve = block.depth](double d) {
            return depth_curve.skin_volume_mm3(d);
        };
        const double skin = block.depth.skin_volume_mm3(foam.skin_thickness_mm.value);
        block.skin_error_share =
            skin > 0.0 ? block.depth.error_mm3(foam.skin_thickness_mm.value) / skin : 0.0;
        cavity.skin_error_share = block.skin_error_share;
        block.mass = foam_mass(cavity, foam);
        take(block.mass.findings);
        note_guesses(card);

        BatchRequest batch_request;
        batch_request.part_mass_g = block.mass.part_mass_g;
        for (const std::filesystem::path& file : request_.foam.also) {
            block.also.push_back(weigh_also(file, foam));
            batch_request.part_mass_g += block.also.back().part_mass_g;
        }
        batch_request.largest_g = request_.foam.largest_batch_g.value_or(0.0);
        batch_request.kit_a_g = card.kit_a_g;
        batch_request.kit_b_g = card.kit_b_g;
        batch_request.kit_price = card.kit_price;
        batch_request.mix = card.mix;
        batch_request.spare_g = request_.foam.spare_g;
        const std::optional<ShopFit>& shop = request_.foam.shop;
        if (request_.foam.waste_share) {
            batch_request.waste_share = *request_.foam.waste_share;
        } else if (shop && shop->waste_castings > 1) {
            batch_request.waste_share = std::clamp(shop->waste_share.value, 0.0, 0.9);
        }
        batch_request.pigment_share = request_.foam.pigment_share;
        batch_request.scale_readability_g = request_.foam.scale_readability_g;
        batch_request.copies = request_.foam.copies;
        batch_request.liquid_kg_m3 =
            mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
        batch_request.free_rise_kg_m3 = card.basis == DensityBasis::free_rise
                                            ? card.density_kg_m3.value
                                            : block.mass.core_density_kg_m3;
        plan_.batch = batch(batch_request);
        block.expansion_ratio =
            expansion_ratio(batch_request.liquid_kg_m3, batch_request.free_rise_kg_m3);
        block.liquid_share =
            block.mass.part_mass_g / batch_request.liquid_kg_m3 * 1e6 / cavity.volume_mm3;
        note_pressure(block, card);
        take(plan_.batch->findings);
        plan_.foam = std::move(block);
    }

    // Beneath the surface, with the thickness of the thin places where they are looked for.
    DensityMap density() {
        const FoamBlock& foam = *plan_.foam;
        const SkinOnCore layers{foam.request.profile, foam.mass.skin_thickness_mm,
                                foam.mass.skin_density_kg_m3, foam.mass.core_density_kg_m3};
        if (plan_.thin) {
            return density_map(mesh(), plan_.thin->map, layers);
        }
        ThicknessOptions sampling;
        sampling.cap_mm = least_cap_mm(DensityMapOptions{});
        return density_map(
            mesh(), thickness_map(mesh(), plan_.part->adjacent(), surface(), sampling, context_),
            layers);
    }

    // The mass of another part under the same request; it must hold the same foam.
    AlsoPoured weigh_also(const std::filesystem::path& file, const FoamRequest& foam) {
        PartRequest request = request_.part;
        request.file = file;
        const PreparedPart other = prepare_part(request, context_);
        take(other.findings);
        const MassProperties mass = mass_properties(other.part.mesh(), context_);
        const TriangleBvh index(other.part.mesh(), context_);
        DepthOptions options;
        if (foam.skin_thickness_mm.value > 0.0) {
            options.depths_mm = {foam.skin_thickness_mm.value};
        }
        const DepthVolume depth = depth_volume(other.part.mesh(), index, options, context_);
        CavityAmounts cavity;
        cavity.volume_mm3 = cavity.volume_low_mm3 = cavity.volume_high_mm3 = mass.volume_mm3;
        cavity.deepest_mm = depth.deepest.depth_mm;
        cavity.skin_curve = [&depth](double d) { return depth.skin_volume_mm3(d); };
        return {other.input.file, mass.volume_mm3, foam_mass(cavity, foam).part_mass_g};
    }

    void note_pressure(FoamBlock& block, const FoamCard& card) {
        constexpr double kPolymer_kg_m3 = 1100.0;    // gas-free polymer; from memory
        constexpr double kWorthAWarning_kpa = 50.0;  // common practice, no source
        const double mean = block.mass.molded_density_kg_m3;
        if (card.basis != DensityBasis::free_rise || mean >= kPolymer_kg_m3 ||
            card.density_kg_m3.value >= kPolymer_kg_m3) {
            return;
        }
        block.pressure_upper_kpa = gas_pressure_kpa(card.density_kg_m3.value, mean, kPolymer_kg_m3);
        if (mean < 0.98 * card.density_kg_m3.value) {
            plan_.findings.push_back({Severity::warning,
                                      "short_shot",
                                      format("At a mean of %s kg/m3 this foam, which rises freely "
                                             "to %s, does not fill the mold.",
                                             significant(mean, 3).c_str(),
                                             significant(card.density_kg_m3.value, 3).c_str()),
                                      {}});
        } else if (*block.pressure_upper_kpa > kWorthAWarning_kpa) {
            plan_.findings.push_back({Severity::warning,
                                      "high_pressure",
                                      format("The foam may press with up to %s kPa, if no gas "
                                             "leaks; strap the mold well or pack less.",
                                             significant(*block.pressure_upper_kpa, 2).c_str()),
                                      {}});
        }
    }

    void note_guesses(const FoamCard& card) {
        if (request_.foam.shop) {
            plan_.findings.push_back(
                {Severity::note,
                 "from_tally",
                 format("Density, skin and waste come from %zu of this shop's own castings.",
                        request_.foam.shop->castings),
                 {}});
            return;
        }
        if (!card.typical) {
            return;
        }
        plan_.findings.push_back({Severity::note,
                                  "typical_foam",
                                  format("The foam card %s holds typical values, a guess for your "
                                         "foam; copy it (cavigram foams show "
                                         "generic-firm) and fill in your supplier's sheet.",
                                         card.name.c_str()),
                                  {}});
    }

    void vent(const FoamCard& card) {
        air_conditions_ = {
            .volume_mm3 = plan_.measures.mass.volume_mm3,
            .rate_mm3_s = detail::air_rate_mm3_s(card, plan_.measures.mass.volume_mm3),
            .pour_hole_width_mm = request_.bench.pour_hole_mm,
            .pressure_kpa = plan_.foam ? plan_.foam->pressure_upper_kpa : std::nullopt,
            .liquid_mm3 = plan_.foam ? std::optional(plan_.foam->liquid_share *
                                                     plan_.measures.mass.volume_mm3)
                                     : std::nullopt};
        detail::AirStage stage = detail::air_stage(solid(), air_, air_conditions_, context_);
        plan_.air = std::move(stage.block);
        take(stage.findings);
    }

    void orient() {
        plan_.orientations = orientations(solid(), detail::orientation_options(air_), context_);
        plan_.up_given = air_.up_given;
        if (!air_.up_given) {
            air_.up = plan_.orientations->rows.front().value.up;
        }
    }

    // The holes for each of the ranked ways up, found as for the one that is planned for.
    void show_ways() {
        AirOptions options = air_;
        for (const RankedWayUp& row : plan_.orientations->rows) {
            options.up = row.value.up;
            plan_.display->ways.push_back(
                detail::mold_holes(solid(), options, air_conditions_, context_));
        }
    }

    void bench(const FoamCard& card) {
        plan_.bench =
            detail::bench_stage(card, request_.bench,
                                {.mesh = mesh(),
                                 .area_mm2 = plan_.measures.mass.area_mm2,
                                 .up = air_.up,
                                 .pour_mass_g = plan_.batch->part_a_g + plan_.batch->part_b_g},
                                context_);
        take(plan_.bench->findings);
    }

    const PlanRequest& request_;
    const RunContext& context_;
    Plan plan_;
    AirOptions air_;  // with the way up that is planned for
    detail::AirConditions air_conditions_;
    std::optional<TriangleBvh> surface_;
    std::optional<AirTreeBuilder> solid_;
};

}  // namespace

FoamCard card_of(const FoamOptions& options) {
    const FoamCard card = load_card(options.card);
    if (!options.mix) {
        return card;
    }
    std::vector<FoamCard> family = {card};
    for (const BuiltInCard& built_in : built_in_cards()) {
        family.push_back(load_card(built_in.name));
    }
    for (const std::string& own : own_card_names()) {
        family.push_back(load_card(own));
    }
    return card_at_mix(card, family, *options.mix);
}

Plan make_plan(const PlanRequest& request, const Stages& stages, const RunContext& context) {
    return Planner(request, context).run(stages);
}

bool has_stop(const Plan& plan) {
    return std::any_of(plan.findings.begin(), plan.findings.end(),
                       [](const Finding& finding) { return finding.severity == Severity::stop; });
}

}  // namespace cavigram
