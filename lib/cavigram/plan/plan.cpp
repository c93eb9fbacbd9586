// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/plan.h"

#include <algorithm>
#include <functional>
#include <utility>

#include "cavigram/core/constants.h"
#include "cavigram/core/side_by_side.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/plan/air_foam_detail.h"
#include "cavigram/plan/also_stage_detail.h"
#include "cavigram/plan/bench_stage_detail.h"
#include "cavigram/plan/cautions.h"
#include "cavigram/plan/foam_stage_detail.h"
#include "cavigram/plan/hole_findings_detail.h"
#include "cavigram/plan/nodes_detail.h"
#include "cavigram/plan/recipe_limits.h"
#include "cavigram/plan/turned_air_detail.h"
#include "cavigram/venting/hole_fit.h"

namespace cavigram {

namespace {

using detail::Nodes;
using detail::Shared;

// Composes the stages of what the nodes keep, or make now.
class Planner {
  public:
    Planner(const PlanRequest& request, Nodes& nodes, const RunContext& context)
        : request_(request), nodes_(nodes), context_(context), air_(request.air) {
        plan_.request = request;
    }

    Plan run(const Stages& stages) {
        settle(stages);
        take_part();
        about_foam(stages);
        about_ways(stages);
        about_mold(stages);
        if (stages.display) {
            show();
        }
        about_safety(stages);
        return std::move(plan_);
    }

    // The foam as it is asked for, and of the air what follows at once.
    TurnedAir turn() {
        settle({.foam = true, .air = true});
        take_part();
        lay_rod();
        weigh();
        const Shared<AirTree> tree = nodes_.turned_tree.get({solid(), air_.up}, context_);
        const Shared<PlacedHoles> placed = nodes_.turned_holes.get(
            {solid(), tree, detail::hole_rules(air_, air_conditions())}, context_);
        const Shared<ShownMesh> shown = shown_mesh();
        const Shared<std::vector<ShownNeighbor>> next = neighbors(shown);
        TurnedAir turned = detail::turned_air(*solid(), *tree, *placed, air_, air_conditions(),
                                              {shown->mesh, *next});
        turned.squeezed_g =
            kGramsPerMm3 * plan_.foam->mass.molded_density_kg_m3 * turned.squeezed_mm3;
        return turned;
    }

  private:
    // Options are settled before the part is read: a typing error must not cost a minute of
    // waiting.
    void settle(const Stages& stages) {
        family_ = detail::family_of(request_.foam);
        choice_ = detail::choose_foam(request_.foam, family_);
        plan_.pour_hole_after = detail::settled_pour_hole(air_, request_.bench.method);
        air_.pour_hole_after = plan_.pour_hole_after;
        if (stages.mold) {
            static_cast<void>(rubber_of(request_.mold));
        }
        if (stages.air && !stages.foam) {
            detail::refuse_unfit(choice_);  // what the foam stage would refuse
        }
    }

    void take_part() {
        part_ = nodes_.first.prepared(request_.part, nodes_.given, context_);
        nodes_.begin(part_);
        plan_.input = part_->input;
        plan_.part = Shared<Part>(part_, &part_->part);
        take(part_->findings);
        measures_ = nodes_.first.measures.get({part_}, context_);
        plan_.measures = *measures_;
        filled_ = plan_.measures;
        take(measure_findings(plan_));
    }

    void about_foam(const Stages& stages) {
        if (stages.foam) {
            lay_rod();
            weigh();
        }
        // Nothing before the pictures reads the walls, so they are measured beside the rise, which
        // keeps one thread busy; but what is asked of them may be refused, which must not wait.
        walls_later_ = stages.foam && stages.air && stages.bench && stages.rise &&
                       !request_.thicken_mm && !request_.thin_limit_mm;
        if (!walls_later_) {
            about_walls(stages, context_);
        }
    }

    void about_walls(const Stages& stages, const RunContext& context) {
        if (stages.thin) {
            thin(skin_mm(), stages.density, context);
        }
        if (stages.foam && stages.density) {
            plan_.foam->density = density(context);
        }
    }

    void about_ways(const Stages& stages) {
        if (stages.orient) {
            ready_for_ways(stages.display);
            orient(stages.split);
        }
        if (stages.air && stages.split) {
            vent_beside_split(stages.handle && stages.foam);
        } else if (stages.air) {
            vent();
        }
        if (stages.split) {
            split();
        }
    }

    void about_mold(const Stages& stages) {
        if (!stages.foam) {
            return;
        }
        if (stages.bench) {
            bench(plan_.foam->card);
        }
        // Neither asks anything of the other; the rise keeps one thread busy.
        const bool rises = stages.rise && plan_.air && plan_.bench;
        const auto around = [&](const RunContext& context) {
            if (walls_later_) {
                about_walls(stages, context);
            }
            if (stages.mold) {
                mold(context);
            }
            if (stages.handle) {
                handle(context);
            }
            if (stages.display) {
                draw(context);
            }
        };
        if (rises && (walls_later_ || stages.mold || stages.handle || stages.display)) {
            rise(stages.rise_cases, around);
        } else if (rises) {
            rise(stages.rise_cases, {});
        } else {
            around(context_);
        }
    }

    void about_safety(const Stages& stages) {
        const auto add = [this](bool wanted, const std::vector<std::string>& more) {
            plan_.cautions.insert(plan_.cautions.end(), more.begin(),
                                  wanted ? more.end() : more.begin());
        };
        add(stages.foam || stages.air || stages.orient, pouring_cautions());
        add(stages.mold, molding_cautions());
        add(stages.handle, handling_cautions());
    }

    [[nodiscard]] const TriMesh& mesh() const { return plan_.part->mesh(); }
    Shared<TriangleBvh> surface() { return nodes_.first.surface.get({part_}, context_); }
    Shared<AirTreeBuilder> solid() { return nodes_.solid.get({part_, surface()}, context_); }
    Shared<Proxy> stand_in(std::size_t triangles) {
        return nodes_.stand_in.get({part_, surface(), triangles}, context_);
    }
    Shared<ShownMesh> shown_mesh() { return nodes_.shown_mesh.get({part_, surface()}, context_); }
    Shared<std::vector<ShownNeighbor>> neighbors(const Shared<ShownMesh>& shown) {
        return nodes_.shown_neighbors.get({part_, surface(), shown}, context_);
    }

    void take(const std::vector<Finding>& findings) {
        plan_.findings.insert(plan_.findings.end(), findings.begin(), findings.end());
    }

    // Thickness is measured once, for the list of thin places as for the picture of the density.
    Shared<ThicknessMap> thickness(double skin_mm, bool for_density, const RunContext& context) {
        const double limit_mm = detail::thin_limit_mm(request_.thin_limit_mm, skin_mm);
        return nodes_.thin.thickness.get(
            {part_, surface(), detail::thickness_cap_mm(limit_mm, for_density)}, context);
    }

    void thin(double skin_mm, bool for_density, const RunContext& context) {
        plan_.thin = *nodes_.thin.thin.get(
            {part_, measures_, thickness(skin_mm, for_density, context),
             detail::thin_limit_mm(request_.thin_limit_mm, skin_mm), skin_mm, request_.thicken_mm},
            context);
    }

    detail::FoamConditions foam_conditions() {
        const std::size_t given = request_.air.vents_at_mm.size();
        depth_ = nodes_.first.depth.get(
            {part_, surface(), detail::skin_depth_options(request_.foam, choice_, filled_.mass)},
            context_);
        return {
            .measures = filled_,
            .depth = *depth_,
            .part = request_.part,
            .pour_hole_width_mm = plan_.pour_hole_after == PourHoleAfter::none
                                      ? 0.0
                                      : request_.bench.pour_hole_width_mm.value_or(kPourHole_mm),
            .temperature_c = request_.bench.temperature_c,
            .vents = given > 0 ? static_cast<int>(given) : request_.air.most_vents};
    }

    // The skin that the foam's chain gives, also where nothing else of it is asked for.
    double skin_mm() {
        return plan_.foam ? plan_.foam->mass.skin_thickness_mm
                          : detail::skin_stage(request_.foam, family_, foam_conditions())
                                .block.mass.skin_thickness_mm;
    }

    // A rod that is cast in takes its volume from the foam, so it is laid before anything is
    // weighed.
    void lay_rod() {
        if (!request_.handle.armature) {
            return;
        }
        rod_ = nodes_.rod.get({part_, surface(), measures_, request_.handle}, context_);
        take(rod_->findings);
        const double taken = rod_->laid ? rod_->laid->volume_mm3 : 0.0;
        filled_.mass.volume_mm3 -= taken;
        filled_.volume_low_mm3 -= taken;
        filled_.volume_high_mm3 -= taken;
    }

    Shared<detail::HandleStage> hand(const RunContext& context) {
        return nodes_.handle.get(
            {part_, surface(), measures_, detail::hand_foam(*plan_.foam), request_.handle, rod_},
            context);
    }

    void handle(const RunContext& context) {
        const auto stage = hand(context);
        plan_.handle = stage->block;
        take(stage->findings);
    }

    void weigh() {
        detail::FoamStage stage =
            detail::foam_stage(request_.foam, family_, foam_conditions(), nodes_.others, context_);
        plan_.foam = std::move(stage.block);
        plan_.foam->rod_mm3 = plan_.measures.mass.volume_mm3 - filled_.mass.volume_mm3;
        take(stage.findings);
        take(recipe_findings(plan_));
    }

    // Beneath the surface, with the thickness of the thin places where they are looked for.
    DensityMap density(const RunContext& context) {
        const FoamMass& mass = plan_.foam->mass;
        const SkinOnCore layers{plan_.foam->request.profile, mass.skin_thickness_mm,
                                mass.skin_density_kg_m3, mass.core_density_kg_m3};
        return *nodes_.thin.density.get(
            {part_, thickness(mass.skin_thickness_mm, true, context), layers}, context);
    }

    [[nodiscard]] detail::AirFoam air_foam() const {
        return plan_.foam ? detail::air_foam_of(*plan_.foam, request_.bench.temperature_c)
                          : detail::air_foam_of(choice_, request_.foam.air_kpa,
                                                request_.bench.temperature_c);
    }

    [[nodiscard]] detail::AirConditions air_conditions() const {
        const detail::AirFoam foam = air_foam();
        const double volume =
            plan_.measures.mass.volume_mm3 - (plan_.foam ? plan_.foam->rod_mm3 : 0.0);
        return {.volume_mm3 = volume,
                .rate_mm3_s = foam.rate_share_per_s * volume,
                .pour_hole_width_mm = request_.bench.pour_hole_width_mm,
                .method = request_.bench.method,
                .wall_mm = request_.foam.mold_wall_mm.value_or(kMoldWall_mm),
                .pressure_kpa = foam.pressure_kpa,
                .liquid_mm3 = foam.liquid_share * volume,
                .mean_kg_m3 = plan_.foam ? std::optional(plan_.foam->mass.molded_density_kg_m3)
                                         : std::nullopt,
                .rests_on = foam.basis,
                .frame = place_frame(plan_.measures.mass, air_.up)};
    }

    // Placed once, for the air as for the clock.
    const PlacedHoles& holes() {
        if (!holes_) {
            const HoleRules rules = detail::hole_rules(air_, air_conditions());
            const Shared<AirTree> tree = nodes_.air.tree.get({solid(), air_.up}, context_);
            holes_ = nodes_.air.holes.get({solid(), tree, rules}, context_);
            take(detail::pour_hole_findings(*holes_, rules));
        }
        return *holes_;
    }

    void vent() {
        const detail::AirConditions conditions = air_conditions();
        take(detail::hole_findings(holes(), detail::hole_rules(air_, conditions)));
        detail::AirStage stage =
            detail::air_stage(solid(), holes_, air_, conditions, nodes_.air, context_);
        plan_.air = std::move(stage.block);
        take(stage.findings);
    }

    // What the search for ways up rests on, and beside it what is shown: each by itself runs on one
    // thread.
    void ready_for_ways(bool show) {
        const Shared<TriangleBvh> index = surface();
        const auto searched_on = [&](const RunContext&) {
            static_cast<void>(solid());
            static_cast<void>(stand_in(OrientationOptions{}.proxy_triangles));
        };
        if (!show) {
            searched_on(context_);
            return;
        }
        const auto shown = [&](const RunContext& context) {
            static_cast<void>(nodes_.shown_mesh.get({part_, index}, context));
        };
        side_by_side(context_, shown, searched_on);
    }

    void orient(bool with_pull) {
        const OrientationOptions options = detail::orientation_options(air_, air_conditions());
        OrientationOptions alone = options;
        alone.asked.reset();
        alone.holes.reset();
        const Shared<FoundWays> found =
            nodes_.search.get({solid(), stand_in(options.proxy_triangles), alone}, context_);
        plan_.orientations = *nodes_.ranking.get({solid(), found, options}, context_);
        plan_.up_given = air_.up_given;
        if (with_pull) {
            pulls_ = nodes_.pulls.get({part_, stand_in(PullSearchOptions{}.proxy_triangles),
                                       detail::split_options(request_.split, air_)},
                                      context_);
            together_ =
                detail::ways_and_pulls(*plan_.orientations, *pulls_, plan_.measures.mass, air_);
        }
        if (!air_.up_given) {
            air_.up =
                together_ ? together_->pairs.front().up : plan_.orientations->rows.front().value.up;
        }
    }

    [[nodiscard]] detail::SplitKey split_key(bool with_air) {
        SplitOptions wanted = detail::split_options(request_.split, air_);
        if (with_air) {
            wanted.up = air_.up;
        }
        Shared<PullSearch> search;
        if (together_ && !wanted.pull) {
            wanted.pull = together_->pairs.front().pull;
            search = pulls_;
        }
        return {part_, surface(), wanted, search};
    }

    // The line on the full mesh is a cut of its graph, which takes one thread: the air and, if it
    // is wanted, the part in the hand are found beside it. Neither reads what the other makes.
    void vent_beside_split(bool with_hand) {
        const detail::SplitKey key = split_key(true);
        static_cast<void>(solid());  // all that both read is there before
        const auto parted = [&](const RunContext& context) {
            static_cast<void>(nodes_.split.get(key, context));
        };
        side_by_side(context_, parted, [&](const RunContext& context) {
            vent();
            if (with_hand) {
                static_cast<void>(hand(context));
            }
        });
    }

    void split() {
        split_ = nodes_.split.get(split_key(plan_.air.has_value()), context_);
        plan_.split = *split_;
        plan_.split->together = together_;
        if (plan_.air) {
            plan_.split->holes = detail::holes_at_line(*plan_.air, split_->line_mm);
        }
        take(plan_.split->found.findings);
    }

    // Each further part by its own mold. Only what does not fit it is told: the rest is the first
    // part's, too.
    void clocks_of_others(const FoamCard& card) {
        for (AlsoPoured& other : plan_.foam->also) {
            other.clock =
                detail::also_clock(card, *plan_.bench, other,
                                   request_.air.up_given ? air_.up : Vec3(Vec3::UnitZ()), context_);
            std::vector<Finding> own = other.clock->findings;
            std::erase_if(own, [&](const Finding& f) {
                return f.severity == Severity::note ||
                       std::any_of(plan_.bench->findings.begin(), plan_.bench->findings.end(),
                                   [&](const Finding& first) { return first.code == f.code; });
            });
            detail::add_named(plan_.findings, own, other.input.file);
        }
    }

    void bench(const FoamCard& card) {
        const bool hole =
            plan_.pour_hole_after != PourHoleAfter::none && holes().pour_hole_mm > 0.0;
        // Beyond the widest that was tried nothing is known; a crumb takes no hole at all.
        constexpr double kNarrowest_mm = 0.1;
        const std::optional<double> widest =
            hole && holes().widest_mm < HoleFitOptions{}.most_mm
                ? std::optional(std::max(holes().widest_mm, kNarrowest_mm))
                : std::nullopt;
        plan_.bench =
            detail::bench_stage(card, request_.bench,
                                {.mesh = mesh(),
                                 .mass = filled_.mass,
                                 .up = air_.up,
                                 .foam = *plan_.foam,
                                 .pour_hole_after = plan_.pour_hole_after,
                                 .pour_hole_mm = hole ? holes().pour_hole_mm : kPourHole_mm,
                                 .widest_hole_mm = widest,
                                 .parting = plan_.split ? &plan_.split->found.parting : nullptr},
                                context_);
        take(plan_.bench->findings);
        clocks_of_others(card);
        // A hole that is drilled as a vent only is not as wide as it might have been.
        if (plan_.bench->method != PourMethod::through_hole && !air_.pour_hole_at_mm) {
            std::erase_if(plan_.findings,
                          [](const Finding& f) { return f.code == "pour_hole_smaller"; });
        }
    }

    // The holes that the air's stage found, as they are drilled: a pour hole that is not poured
    // through is a vent.
    [[nodiscard]] std::vector<MoldHole> drilled() {
        std::vector<MoldHole> found;
        if (!plan_.air) {
            return found;
        }
        const bool poured_through = !plan_.bench || plan_.bench->method == PourMethod::through_hole;
        for (const SizedOpening& sized : plan_.air->openings) {
            const bool spout = sized.opening.pour_hole && poured_through;
            found.push_back({sized.opening.pour_hole, sized.opening.place_mm,
                             spout ? holes().pour_hole_mm : sized.diameter_mm});
        }
        for (const SizedVent& vent : plan_.air->vents) {
            if (!vent.given) {  // those that were given are among the openings
                found.push_back({false, vent.at_mm, vent.diameter_mm});
            }
        }
        return found;
    }

    void mold(const RunContext& context) {
        const FoamBlock& foam = *plan_.foam;
        const FoamCard& card = foam.card;
        const MoldOptions options =
            plan_.split ? built_as_split(request_.mold, plan_.split->found.parting) : request_.mold;
        const Shared<MoldShape> shape = nodes_.mold.get(
            {part_, surface(), measures_, mold_shape_request(options, air_.up)}, context);
        const Shared<TriangleBvh> index = surface();
        MoldStage stage = mold_stage(options,
                                     {.mesh = mesh(),
                                      .shells = plan_.part->shells(),
                                      .surface = *index,
                                      .mass = plan_.measures.mass,
                                      .up = air_.up,
                                      .holes = drilled(),
                                      .casting_g = foam.mass.part_mass_g,
                                      .pressure_kpa = foam.window.pressure_kpa,
                                      .strap_for_kpa = foam.window.strap_for_kpa,
                                      .warm_mold_c = request_.bench.mold_temperature_c,
                                      .liquid_c = request_.bench.temperature_c.value_or(card.at_c),
                                      .liquid_kg_m3 = mixed_density_kg_m3(
                                          card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3)},
                                     *shape, context);
        plan_.mold = std::move(stage.block);
        take(stage.findings);
        hold_by_straps();
    }

    // Where nothing else is said, the mold holds what straps of known strength do, and the window
    // is made again. Straps that are only planned say nothing: they are chosen for this very
    // pressure.
    void hold_by_straps() {
        const double holds_kpa = plan_.mold->straps.holds_kpa;
        if (request_.foam.mold_holds_kpa || !request_.mold.strap_holds_n || !(holds_kpa > 0.0)) {
            return;
        }
        plan_.mold->holds_by_straps = true;
        PourWindow& window = plan_.foam->window;
        std::erase_if(plan_.findings, [&](const Finding& told) {
            return std::any_of(
                window.findings.begin(), window.findings.end(),
                [&](const Finding& old) { return old.code == told.code && old.text == told.text; });
        });
        WindowRequest request = window.request;
        request.mold_holds_kpa = holds_kpa;
        window = pour_window(request);
        take(window.findings);
    }

    // With what is made beside it, if anything. Both use the index of the part: it is made before.
    void rise(bool cases, const std::function<void(const RunContext&)>& beside) {
        const Shared<TriangleBvh> index = surface();
        detail::RiseStage stage;
        const auto follow = [&](const RunContext& context) {
            stage = detail::rise_stage(plan_, part_, index, cases, nodes_.rise, context);
        };
        if (beside) {
            side_by_side(context_, beside, follow);
        } else {
            follow(context_);
        }
        plan_.rise = std::move(stage.block);
        take(stage.findings);
    }

    // What the pictures show of the part, its sides and its halves.
    void draw(const RunContext& context) {
        const Shared<TriangleBvh> index = surface();
        shown_ = nodes_.shown_mesh.get({part_, index}, context);
        const Vec3 up = plan_.air ? plan_.air->up : Vec3(Vec3::UnitZ());
        sides_ = nodes_.shown_sides.get({shown_, up}, context);
        if (split_) {
            halves_ = nodes_.shown_halves.get({part_, index, shown_, split_}, context);
            line_ = nodes_.shown_line.get({part_, index, shown_, split_}, context);
        }
    }

    void show() {
        if (!shown_) {
            draw(context_);
        }
        std::vector<ShownNeighbor> next;
        if (plan_.thin || plan_.rise || (plan_.foam && plan_.foam->density)) {
            next = *neighbors(shown_);
        }
        plan_.display =
            display_block(plan_, *shown_, next, *sides_, halves_ ? *halves_ : ShownHalves{},
                          line_ ? *line_ : ShownLine{});
    }

    const PlanRequest& request_;
    Nodes& nodes_;
    const RunContext& context_;
    std::vector<FoamCard> family_;
    detail::FoamChoice choice_;  // before the part is known
    Plan plan_;
    Shared<PreparedPart> part_;
    Shared<MeasuresBlock> measures_;
    MeasuresBlock filled_;  // what of the part is foam
    Shared<DepthVolume> depth_;
    Shared<detail::RodStage> rod_;  // none: none was given
    AirOptions air_;                // with the way up that is planned for
    bool walls_later_ = false;      // beside the rise
    Shared<PullSearch> pulls_;
    std::optional<WaysAndPulls> together_;
    Shared<PlacedHoles> holes_;
    Shared<SplitBlock> split_;
    Shared<ShownMesh> shown_;  // none: not drawn yet
    Shared<ShownSides> sides_;
    Shared<ShownHalves> halves_;
    Shared<ShownLine> line_;
};

}  // namespace

FoamCard card_of(const FoamOptions& options) {
    return detail::choose_foam(options, detail::family_of(options)).card;
}

namespace detail {

Plan composed_plan(const PlanRequest& request, const Stages& stages, Nodes& nodes,
                   const RunContext& context) {
    return Planner(request, nodes, context).run(stages);
}

TurnedAir composed_air(const PlanRequest& request, Nodes& nodes, const RunContext& context) {
    return Planner(request, nodes, context).turn();
}

}  // namespace detail

bool has_stop(const Plan& plan) {
    return std::any_of(plan.findings.begin(), plan.findings.end(),
                       [](const Finding& finding) { return finding.severity == Severity::stop; });
}

}  // namespace cavigram
