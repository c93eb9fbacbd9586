// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/plan.h"

#include <algorithm>
#include <utility>

#include "cavigram/plan/air_foam_detail.h"
#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/plan/bench_stage_detail.h"
#include "cavigram/plan/cautions.h"
#include "cavigram/plan/foam_stage_detail.h"
#include "cavigram/plan/measure_stage_detail.h"
#include "cavigram/plan/recipe_limits.h"
#include "cavigram/plan/rise_stage_detail.h"
#include "cavigram/plan/thin_stage_detail.h"

namespace cavigram {

namespace {

// Composes the stages; what two of them need is made once.
class Planner {
  public:
    Planner(const PlanRequest& request, const RunContext& context)
        : request_(request), context_(context), air_(request.air) {
        plan_.request = request;
    }

    Plan run(const Stages& stages) {
        // Options are settled before the part is read: a typing error must not cost a minute of
        // waiting.
        family_ = detail::family_of(request_.foam);
        choice_ = detail::choose_foam(request_.foam, family_);
        plan_.pour_hole_after = detail::settled_pour_hole(air_, request_.bench.method);
        air_.pour_hole_after = plan_.pour_hole_after;
        if (stages.air && !stages.foam) {
            detail::refuse_unfit(choice_);  // what the foam stage would refuse
        }
        PreparedPart prepared = prepare_part(request_.part, context_);
        plan_.input = std::move(prepared.input);
        plan_.part = std::move(prepared.part);
        take(prepared.findings);
        plan_.measures = detail::measures_of(*plan_.part, context_);
        if (stages.foam) {
            weigh();
        }
        if (stages.thin) {
            thin(skin_mm(), stages.density);
        }
        if (stages.foam && stages.density) {
            plan_.foam->density = density();
        }
        if (stages.orient) {
            orient();
        }
        if (stages.air) {
            vent();
        }
        if (stages.foam && stages.bench) {
            bench(plan_.foam->card);
        }
        if (stages.rise && plan_.foam && plan_.air && plan_.bench) {
            rise(stages.rise_cases);
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

    // Thickness is measured once, for the list of thin places as for the picture of the density.
    [[nodiscard]] ThicknessMap thickness(double skin_mm, bool for_density) {
        return detail::part_thickness(*plan_.part, surface(),
                                      detail::thin_limit_mm(request_.thin_limit_mm, skin_mm),
                                      for_density, context_);
    }

    void thin(double skin_mm, bool for_density) {
        plan_.thin = detail::thin_stage(
            *plan_.part, thickness(skin_mm, for_density), plan_.measures.mass,
            detail::thin_limit_mm(request_.thin_limit_mm, skin_mm), skin_mm, request_.thicken_mm);
    }

    detail::FoamConditions foam_conditions() {
        const std::size_t given = request_.air.vents_at_mm.size();
        return {.mesh = mesh(),
                .surface = surface(),
                .measures = plan_.measures,
                .part = request_.part,
                .pour_hole_width_mm = plan_.pour_hole_after == PourHoleAfter::none
                                          ? 0.0
                                          : request_.bench.pour_hole_width_mm,
                .temperature_c = request_.bench.temperature_c,
                .vents = given > 0 ? static_cast<int>(given) : request_.air.most_vents};
    }

    // The skin that the foam's chain gives, also where nothing else of it is asked for.
    double skin_mm() {
        if (plan_.foam) {
            return plan_.foam->mass.skin_thickness_mm;
        }
        return detail::skin_stage(request_.foam, family_, foam_conditions(), context_)
            .block.mass.skin_thickness_mm;
    }

    void weigh() {
        detail::FoamStage stage =
            detail::foam_stage(request_.foam, family_, foam_conditions(), context_);
        plan_.foam = std::move(stage.block);
        take(stage.findings);
        take(recipe_findings(plan_));
    }

    // Beneath the surface, with the thickness of the thin places where they are looked for.
    DensityMap density() {
        const FoamMass& mass = plan_.foam->mass;
        const SkinOnCore layers{plan_.foam->request.profile, mass.skin_thickness_mm,
                                mass.skin_density_kg_m3, mass.core_density_kg_m3};
        return plan_.thin ? density_map(mesh(), plan_.thin->map, layers)
                          : density_map(mesh(), thickness(mass.skin_thickness_mm, true), layers);
    }

    [[nodiscard]] detail::AirFoam air_foam() const {
        return plan_.foam ? detail::air_foam_of(*plan_.foam, request_.bench.temperature_c)
                          : detail::air_foam_of(choice_, request_.foam.air_kpa,
                                                request_.bench.temperature_c);
    }

    void vent() {
        const detail::AirFoam foam = air_foam();
        const double volume = plan_.measures.mass.volume_mm3;
        air_conditions_ = {.volume_mm3 = volume,
                           .rate_mm3_s = foam.rate_share_per_s * volume,
                           .pour_hole_width_mm = request_.bench.pour_hole_width_mm,
                           .wall_mm = request_.foam.mold_wall_mm.value_or(kMoldWall_mm),
                           .pressure_kpa = foam.pressure_kpa,
                           .liquid_mm3 = foam.liquid_share * volume,
                           .rests_on = foam.basis,
                           .frame = place_frame(plan_.measures.mass, air_.up)};
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
        plan_.bench = detail::bench_stage(card, request_.bench,
                                          {.mesh = mesh(),
                                           .mass = plan_.measures.mass,
                                           .up = air_.up,
                                           .foam = *plan_.foam,
                                           .pour_hole_after = plan_.pour_hole_after},
                                          context_);
        take(plan_.bench->findings);
    }

    void rise(bool cases) {
        detail::RiseStage stage = detail::rise_stage(plan_, surface(), cases, context_);
        plan_.rise = std::move(stage.block);
        take(stage.findings);
    }

    const PlanRequest& request_;
    const RunContext& context_;
    std::vector<FoamCard> family_;
    detail::FoamChoice choice_;  // before the part is known
    Plan plan_;
    AirOptions air_;  // with the way up that is planned for
    detail::AirConditions air_conditions_;
    std::optional<TriangleBvh> surface_;
    std::optional<AirTreeBuilder> solid_;
};

}  // namespace

FoamCard card_of(const FoamOptions& options) {
    return detail::choose_foam(options, detail::family_of(options)).card;
}

Plan make_plan(const PlanRequest& request, const Stages& stages, const RunContext& context) {
    return Planner(request, context).run(stages);
}

bool has_stop(const Plan& plan) {
    return std::any_of(plan.findings.begin(), plan.findings.end(),
                       [](const Finding& finding) { return finding.severity == Severity::stop; });
}

}  // namespace cavigram
