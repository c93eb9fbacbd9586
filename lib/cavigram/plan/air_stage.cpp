// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <functional>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/venting/column_tree.h"
#include "cavigram/venting/vent_flow.h"

namespace cavigram::detail {

namespace {

// Two methods that differ by more than this share of the part do not agree: the columns are about
// 0.5 % of the part apart.
constexpr double kMethodsDiffer = 0.02;

// Air that stays and is worth a warning, as a share of the part. Common practice, no source.
constexpr double kMuchAir = 0.01;

// What is left with so many vents, and once the foam has pressed on it.
void squeeze(AirBlock& block, std::size_t vents, double trapped_mm3) {
    constexpr std::size_t kMostTold = 8;
    if (block.left_after.size() <= kMostTold) {
        block.left_after.push_back(
            {vents, trapped_mm3, squeezed_volume_mm3(trapped_mm3, block.pressure_kpa)});
    }
}

class AirPlanner {
  public:
    AirPlanner(const Shared<AirTreeBuilder>& solid, const Shared<PlacedHoles>& holes,
               const AirOptions& options, const AirConditions& conditions, AirNodes& nodes,
               const RunContext& context)
        : solid_(solid),
          kept_holes_(holes),
          options_(options),
          conditions_(conditions),
          nodes_(nodes),
          context_(context),
          kept_tree_(nodes.tree.get({solid, options.up}, context)),
          tree_(*kept_tree_),
          holes_(*holes) {}

    AirStage run() {
        block_ = opened_air(tree_, holes_, options_, conditions_);
        show_cost();
        pool();
        narrow();
        second_method();
        note();
        return {std::move(block_), std::move(findings_)};
    }

  private:
    void find(Severity severity, FindingCode code, std::string text,
              std::vector<std::array<double, 3>> at_mm = {}) {
        findings_.push_back({severity, code, std::move(text), std::move(at_mm)});
    }

    [[nodiscard]] PourHoleAfter after() const { return block_.pour_hole_after; }

    // The same holes without a show side.
    void show_cost() {
        if (!options_.show) {
            return;
        }
        HoleRules anywhere = hole_rules(options_, conditions_);
        anywhere.show.reset();
        const double left = nodes_.holes.get({solid_, kept_tree_, anywhere}, context_)->trapped_mm3;
        block_.show =
            ShowCost{std::max(0.0, block_.trapped_vented_mm3 - left), holes_.on_show_side.size()};
    }

    // Where the liquid gathers that comes down under the pour hole.
    void pool() {
        const auto hole = std::find_if(block_.openings.begin(), block_.openings.end(),
                                       [](const SizedOpening& o) { return o.opening.pour_hole; });
        PoolOptions options;
        if (hole != block_.openings.end()) {
            options.pour_place_mm = landing_mm(*solid_, tree_.up, hole->opening.place_mm);
        }
        options.liquid_mm3 = conditions_.liquid_mm3;
        options.min_volume_mm3 = options_.smallest_pocket_mm3;
        const Shared<AirTree> upside_down = nodes_.tree.get({solid_, -tree_.up}, context_);
        block_.pools = *nodes_.pools.get({solid_, upside_down, options}, context_);
    }

    void narrow() {
        if (!(options_.neck_mm > 0.0)) {
            return;
        }
        NarrowNecks necks =
            *nodes_.necks.get({solid_, tree_.up, kept_holes_, options_.neck_mm}, context_);
        const double more = necks.more_mm3();
        if (more > std::max(block_.smallest_pocket_mm3, kMuchAir * conditions_.volume_mm3)) {
            std::vector<std::array<double, 3>> places;
            for (const HeldBack& held : necks.held_back) {
                places.push_back({held.peak_mm.x(), held.peak_mm.y(), held.peak_mm.z()});
            }
            find(Severity::warning, "narrow_necks",
                 fmt::format("If foam does not pass where the part is narrower than {}, {} more "
                             "air stays; make these necks wider, or give what lies beyond a vent.",
                             told_own(options_.neck_mm, Kind::length, 2),
                             told_own(more, Kind::volume, 2)),
                 std::move(places));
        }
        block_.necks = std::move(necks);
    }

    void second_method() {
        const double volume = conditions_.volume_mm3;
        const double limit = std::max(kMethodsDiffer * volume, block_.smallest_pocket_mm3);
        // Pieces half as large as what would matter: smaller ones need no partner.
        const Shared<SecondLook> look =
            nodes_.second.get({solid_, kept_tree_, 0.5 * limit}, context_);
        const TreeComparison& seen = look->seen;
        block_.second = {look->columns, seen.largest_mm3, seen.volume_mm3};
        const double most = std::max(seen.largest_mm3, std::abs(seen.volume_mm3));
        if (most > limit) {
            find(
                Severity::warning, "air_methods_differ",
                fmt::format("A second way of finding the air (upright columns) differs by {}, {} "
                            "% of the part; the surface crosses itself, or the part has gaps finer "
                            "than {}: take the pockets with care.",
                            told_own(most, Kind::volume, 2), significant(100.0 * most / volume, 2),
                            told_own(look->spacing_mm, Kind::length, 2)));
        }
    }

    void note() {
        const double volume = conditions_.volume_mm3;
        if (note_no_opening()) {
            // All air stays; nothing more needs to be said of it.
        } else if (block_.trapped_vented_mm3 >
                   std::max(block_.smallest_pocket_mm3, kMuchAir * volume)) {
            find(Severity::warning, "air_stays",
                 fmt::format("Even with {} vent{}, {} of air stays ({} % of the part); turn the "
                             "part another way up, or allow more vents.",
                             block_.vents.size(), block_.vents.size() == 1 ? "" : "s",
                             told_own(block_.trapped_vented_mm3, Kind::volume, 3),
                             significant(100.0 * block_.trapped_vented_mm3 / volume, 2)));
        }
        if (tree_.roots.size() > 1) {
            find(Severity::warning, "several_solids",
                 fmt::format(
                     "The file holds {} separate solids ({}): one mold with as many "
                     "cavities, or one with a loose piece? Each needs {} of its own; what "
                     "does not belong in this mold belongs in a file of its own ({} pours "
                     "it along).",
                     tree_.roots.size(), solids_told(),
                     after() == PourHoleAfter::none ? "an open half and a vent" : "a pour hole",
                     setting("also")));
        }
        note_narrow_hole();
    }

    // What each solid takes, largest first: its grams, or its volume where no foam is weighed.
    [[nodiscard]] std::string solids_told() const {
        std::vector<double> volumes;
        for (const std::int32_t root : tree_.roots) {
            volumes.push_back(tree_.arcs[static_cast<std::size_t>(root)].volume_mm3);
        }
        std::sort(volumes.begin(), volumes.end(), std::greater<>());
        constexpr std::size_t kMostTold = 6;
        std::string text;
        for (std::size_t i = 0; i < std::min(kMostTold, volumes.size()); ++i) {
            text += i == 0 ? "" : i + 1 == volumes.size() ? " and " : ", ";
            text +=
                conditions_.mean_kg_m3
                    ? told_own(kGramsPerMm3 * *conditions_.mean_kg_m3 * volumes[i], Kind::mass, 3)
                    : told_own(volumes[i], Kind::volume, 3);
        }
        return volumes.size() > kMostTold
                   ? text + fmt::format(" and {} smaller ones", volumes.size() - kMostTold)
                   : text;
    }

    // A solid that air can't leave at all.
    bool note_no_opening() {
        if (holes_.closed_solids == 0) {
            return false;
        }
        find(Severity::stop, "no_opening",
             fmt::format(
                 "{} without any opening while the foam rises, and all air stays: allow a vent "
                 "more ({}, {}), or leave the pour hole open through a drilled cover ({} vented).",
                 tree_.roots.size() == 1
                     ? "The mold is"
                     : fmt::format("{} of {} solids are", holes_.closed_solids, tree_.roots.size()),
                 setting("most-vents"), setting("vent"), setting("pour-hole-after")));
        return true;
    }

    // A cover can't hold a hole wider than itself.
    void note_narrow_hole() {
        if (block_.cover_drill_mm > holes_.pour_hole_mm && holes_.pour_hole_mm > 0.0) {
            find(Severity::warning, "pour_hole_narrow_for_air",
                 fmt::format("The air needs a hole of {} and the pour hole is {} wide; make it "
                             "wider ({}).",
                             told_own(block_.cover_drill_mm, Kind::length, 3),
                             told_own(holes_.pour_hole_mm, Kind::length, 3),
                             setting("pour-hole-width")));
        }
    }

    const Shared<AirTreeBuilder>& solid_;
    const Shared<PlacedHoles>& kept_holes_;
    const AirOptions& options_;
    const AirConditions& conditions_;
    AirNodes& nodes_;
    const RunContext& context_;
    Shared<AirTree> kept_tree_;
    const AirTree& tree_;
    const PlacedHoles& holes_;
    AirBlock block_;
    std::vector<Finding> findings_;
};

}  // namespace

HoleRules hole_rules(const AirOptions& options, const AirConditions& conditions) {
    HoleRules rules;
    rules.given.pour_hole_after = options.pour_hole_after.value_or(PourHoleAfter::vented);
    if (options.pour_hole_at_mm) {
        rules.given.pour_holes_mm.push_back(*options.pour_hole_at_mm);
    }
    rules.given.vents_mm = options.vents_at_mm;
    rules.most_vents = static_cast<std::size_t>(std::max(0, options.most_vents));
    rules.pour_hole_asked = conditions.pour_hole_width_mm.has_value();
    rules.pour_hole_mm = conditions.pour_hole_width_mm.value_or(kPourHole_mm);
    rules.poured_through = rules.pour_hole_asked || options.pour_hole_at_mm ||
                           conditions.method == PourMethod::through_hole;
    // Each vent is wide enough for all the air, since any of them may be the last that is open; so
    // is the hole in a pour hole's cover.
    rules.vent_mm = vent_size(1, {.growth_ml_s = conditions.rate_mm3_s / 1000.0,
                                  .length_mm = conditions.wall_mm})
                        .drill_mm;
    rules.smallest_pocket_mm3 = options.smallest_pocket_mm3;
    rules.show = options.show;
    return rules;
}

AirBlock opened_air(const AirTree& tree, const PlacedHoles& holes, const AirOptions& options,
                    const AirConditions& conditions) {
    const double width_mm = hole_rules(options, conditions).vent_mm;
    const PlaceFrame& frame = conditions.frame;
    AirBlock block;
    block.up = tree.up;
    block.pour_hole_after = options.pour_hole_after.value_or(PourHoleAfter::vented);
    const bool vented = block.pour_hole_after == PourHoleAfter::vented;
    block.rests_on = conditions.rests_on;
    block.air_rate_mm3_s = conditions.rate_mm3_s;
    block.cover_drill_mm = vented ? width_mm : 0.0;
    for (const Opening& opening : holes.openings) {
        block.openings.push_back({opening, place_words(frame, opening.place_mm).words,
                                  opening.pour_hole ? block.cover_drill_mm : width_mm});
    }
    block.pour_hole_mm = holes.pour_hole_mm;
    block.pour_hole_elsewhere = !holes.moved.empty();
    block.no_opening = !vented;
    block.unvented = holes.unvented;
    block.trapped_vented_mm3 = holes.trapped_mm3;
    block.smallest_pocket_mm3 = holes.smallest_pocket_mm3;
    for (const SizedOpening& sized : block.openings) {
        if (!sized.opening.pour_hole) {
            block.vents.push_back({sized.opening.place_mm, 0.0, block.trapped_vented_mm3, width_mm,
                                   true, sized.where, 0});
        }
    }
    if (!block.vents.empty() || !holes.left_mm3.empty()) {
        block.pressure_kpa = conditions.pressure_kpa;
    }
    if (!block.vents.empty()) {
        squeeze(block, block.vents.size(), block.trapped_vented_mm3);
    }
    for (const Vent& vent : holes.vents) {
        block.vents.push_back({vent.place_mm, vent.gain_mm3, vent.residual_mm3, width_mm, false,
                               place_words(frame, vent.place_mm).words, vent.merged});
    }
    for (std::size_t vents = 0; vents < holes.left_mm3.size(); ++vents) {
        squeeze(block, vents, holes.left_mm3[vents]);
    }
    return block;
}

AirTree TreeKey::make(const RunContext& /*context*/) const {
    return solid->build(up);
}

PlacedHoles HolesKey::make(const RunContext& /*context*/) const {
    return placed_holes(*solid, *tree, rules);
}

Pools PoolsKey::make(const RunContext& /*context*/) const {
    return pools(*solid, *upside_down, options);
}

NarrowNecks NecksKey::make(const RunContext& context) const {
    context.report("necks", 0.0);
    // Those given come first, then those made; a vent that was given counts as both.
    std::vector<Opening> openings = holes->openings;
    const auto add_vent = [&](const Vec3& at_mm) {
        Opening opening;
        opening.place_mm = at_mm;
        openings.push_back(opening);
    };
    for (const Opening& opening : holes->openings) {
        if (!opening.pour_hole) {
            add_vent(opening.place_mm);
        }
    }
    for (const Vent& vent : holes->vents) {
        add_vent(vent.place_mm);
    }
    constexpr int kNeckColumns = 128;
    return narrow_necks(solid->mesh(), solid->bvh(), up, openings,
                        {.width_mm = width_mm, .columns = kNeckColumns}, context);
}

SecondLook SecondKey::make(const RunContext& context) const {
    context.report("second method", 0.0);
    const ColumnOptions options;
    const ColumnTree columns = column_tree(solid->mesh(), tree->up, options, context);
    return {options.columns, columns.spacing_mm, compare(*solid, *tree, columns, least_mm3)};
}

AirStage air_stage(const Shared<AirTreeBuilder>& solid, const Shared<PlacedHoles>& holes,
                   const AirOptions& options, const AirConditions& conditions, AirNodes& nodes,
                   const RunContext& context) {
    return AirPlanner(solid, holes, options, conditions, nodes, context).run();
}

PourHoleAfter settled_pour_hole(const AirOptions& options, std::optional<PourMethod> method) {
    const bool through_hole = !method || *method == PourMethod::through_hole;
    const PourHoleAfter after = options.pour_hole_after.value_or(
        through_hole || options.pour_hole_at_mm ? PourHoleAfter::vented : PourHoleAfter::none);
    if (after != PourHoleAfter::none) {
        return after;
    }
    if (options.pour_hole_at_mm) {
        throw InvalidInput(fmt::format(
            "{} gives a place to a hole that {} none says there is not; leave one of them out.",
            setting("pour-hole"), setting("pour-hole-after")));
    }
    if (method == PourMethod::through_hole) {
        throw InvalidInput(fmt::format(
            "{} through_hole needs a pour hole; give {} vented or plugged, or another method.",
            setting("method"), setting("pour-hole-after")));
    }
    if (options.weights && options.weights->of(WayMeasure::path) > 0.0) {
        throw InvalidInput(fmt::format(
            "{} counts the path from the pour hole, and there is none; leave path out, or give {} "
            "vented.",
            setting("weights"), setting("pour-hole-after")));
    }
    return after;
}

OrientationOptions orientation_options(const AirOptions& options, const AirConditions& conditions) {
    OrientationOptions search;
    search.holes = hole_rules(options, conditions);
    search.most_vents = static_cast<std::size_t>(options.most_vents);
    search.pour_hole_after = options.pour_hole_after.value_or(PourHoleAfter::vented);
    search.asked = options.up;
    search.show = options.show;
    search.weights = options.weights;
    return search;
}

}  // namespace cavigram::detail
