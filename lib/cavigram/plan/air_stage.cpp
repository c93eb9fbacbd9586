// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/venting/column_tree.h"
#include "cavigram/venting/show_side.h"
#include "cavigram/venting/tree_comparison.h"
#include "cavigram/venting/vent_flow.h"

namespace cavigram::detail {

namespace {

// Two methods that differ by more than this share of the part do not agree: the columns are about
// 0.5 % of the part apart.
constexpr double kMethodsDiffer = 0.02;

// Air that stays and is worth a warning, as a share of the part. Common practice, no source.
constexpr double kMuchAir = 0.01;

// A point that was given for an opening and lies farther off than this was meant a bit loosely.
constexpr double kMoved_mm = 0.05;

std::string told_at(const Vec3& place_mm) {
    return told_place(place_mm.x(), place_mm.y(), place_mm.z());
}

class AirPlanner {
  public:
    AirPlanner(const AirTreeBuilder& solid, const AirOptions& options,
               const AirConditions& conditions, const RunContext& context)
        : solid_(solid),
          options_(options),
          conditions_(conditions),
          context_(context),
          tree_(solid.build(options.up)) {}

    AirStage run() {
        open();
        show_cost();
        pool();
        narrow();
        second_method();
        note();
        return {std::move(block_), std::move(findings_)};
    }

    MoldHoles holes() {
        open();
        MoldHoles holes;
        for (const SizedOpening& sized : block_.openings) {
            if (sized.opening.pour_hole) {
                holes.pour_holes_mm.push_back(sized.opening.place_mm);
            }
        }
        for (const SizedVent& vent : block_.vents) {
            holes.vents_mm.push_back(vent.at_mm);
        }
        return holes;
    }

  private:
    void find(Severity severity, FindingCode code, std::string text,
              std::vector<std::array<double, 3>> at_mm = {}) {
        findings_.push_back({severity, code, std::move(text), std::move(at_mm)});
    }

    [[nodiscard]] PourHoleAfter after() const {
        return options_.pour_hole_after.value_or(PourHoleAfter::vented);
    }
    [[nodiscard]] double vent_radius_mm() const { return 0.5 * width_mm_; }
    [[nodiscard]] double pour_radius_mm() const { return 0.5 * conditions_.pour_hole_width_mm; }

    // What the person gives, before anything is chosen.
    [[nodiscard]] Openings given_openings() const {
        Openings openings;
        openings.pour_hole_after = after();
        if (options_.pour_hole_at_mm) {
            openings.pour_holes_mm.push_back(*options_.pour_hole_at_mm);
        }
        openings.vents_mm = options_.vents_at_mm;
        return openings;
    }

    // Pour holes and vents, and what air they leave.
    void open() {
        block_.up = tree_.up;
        block_.pour_hole_after = after();
        block_.rests_on = conditions_.rests_on;
        block_.air_rate_mm3_s = conditions_.rate_mm3_s;
        // Each vent is wide enough for all the air, since any of them may be the last that is open;
        // so is the hole in a pour hole's cover.
        width_mm_ = vent_size(1, {.growth_ml_s = conditions_.rate_mm3_s / 1000.0,
                                  .length_mm = conditions_.wall_mm})
                        .drill_mm;
        block_.cover_drill_mm = after() == PourHoleAfter::vented ? width_mm_ : 0.0;
        Openings openings = given_openings();
        const std::size_t given = openings.pour_holes_mm.size();
        openings = in_their_places(std::move(openings));
        PocketOptions pocket_options;
        pocket_options.min_volume_mm3 = options_.smallest_pocket_mm3;
        AirPockets pockets = air_pockets(solid_, tree_, openings, pocket_options);
        for (std::size_t i = given; i < openings.pour_holes_mm.size(); ++i) {
            pockets.openings[i].given = false;
        }
        for (const Opening& opening : pockets.openings) {
            block_.openings.push_back({opening,
                                       place_words(conditions_.frame, opening.place_mm).words,
                                       opening.pour_hole ? block_.cover_drill_mm : width_mm_});
        }
        block_.no_opening = after() != PourHoleAfter::vented;
        block_.unvented = pockets.unvented;
        block_.trapped_vented_mm3 = pockets.vented.total_mm3;
        block_.smallest_pocket_mm3 = pockets.min_volume_mm3;
        for (const SizedOpening& sized : block_.openings) {
            if (!sized.opening.pour_hole) {
                block_.vents.push_back({sized.opening.place_mm, 0.0, pockets.vented.total_mm3,
                                        width_mm_, true, sized.where, 0});
            }
        }
        if (options_.vents_at_mm.empty()) {
            propose(openings);
        } else {
            squeeze(block_.vents.size(), block_.trapped_vented_mm3);
        }
    }

    // Where vents may be, and pour holes for those solids that have none where it matters: holes
    // keep off the show side, and a plugged pour hole and the vents off each other.
    Openings in_their_places(Openings openings) {
        const bool plugged = after() == PourHoleAfter::plugged;
        if (!options_.show && !plugged) {
            return openings;
        }
        if (options_.show) {
            keep_off_ = ShowSurface(solid_.mesh(), *options_.show);
            block_.show.emplace();
            if (keep_off_.empty()) {
                find(Severity::note, "nothing_shown",
                     "No surface of the part lies on the show side; check its direction or box.");
            }
        }
        if (plugged) {
            for (const Opening& hole : placed_openings(solid_, tree_, openings)) {
                if (hole.pour_hole && hole.given) {
                    keep_off_.add_hole(hole.place_mm, pour_radius_mm());
                }
            }
        }
        if (options_.show || !openings.pour_holes_mm.empty()) {
            allowed_ = places_off(solid_, tree_, keep_off_, vent_radius_mm());
        }
        if (plugged) {
            openings = beside_the_vents(std::move(openings));
        }
        openings =
            with_pour_holes(solid_, tree_, places_off(solid_, tree_, keep_off_, pour_radius_mm()),
                            std::move(openings));
        if (options_.show) {
            check_show_side(openings);
        }
        return openings;
    }

    // A pour hole that lets no air out leaves the highest place to the vent and goes beside it.
    Openings beside_the_vents(Openings openings) {
        Openings all = openings;
        if (options_.vents_at_mm.empty()) {
            for (const Vent& vent : vents_for(openings, allowed_).vents) {
                if (static_cast<int>(all.vents_mm.size()) < options_.most_vents) {
                    all.vents_mm.push_back(vent.place_mm);
                }
            }
        }
        const std::vector<Opening> placed = placed_openings(solid_, tree_, all);
        for (const Opening& opening : placed) {
            if (!opening.pour_hole) {
                keep_off_.add_hole(opening.place_mm, vent_radius_mm());
            }
        }
        for (const std::int32_t root : tree_.roots) {
            const Opening* vent = nullptr;
            bool has = false;
            for (const Opening& opening : placed) {
                has = has || (opening.pour_hole && opening.given && opening.root == root);
                if (!opening.pour_hole && opening.root == root &&
                    (vent == nullptr || opening.height_mm > vent->height_mm)) {
                    vent = &opening;
                }
            }
            if (!has && vent != nullptr) {
                const HolePlace beside = place_beside(solid_, tree_, keep_off_, vent->place_mm,
                                                      vent_radius_mm(), pour_radius_mm());
                if (beside.there) {
                    openings.pour_holes_mm.push_back(beside.place_mm);
                }
            }
        }
        return openings;
    }

    void check_show_side(const Openings& openings) {
        for (const Opening& opening : placed_openings(solid_, tree_, openings)) {
            const double radius = opening.pour_hole ? pour_radius_mm() : vent_radius_mm();
            const Vec3& place = opening.place_mm;
            if (keep_off_.clear(place, radius)) {
                continue;
            }
            ++block_.show->holes_on_it;
            find(Severity::warning, "hole_on_show_side",
                 fmt::format("The {} at {} lies on the show side, or cuts into it; move it, turn "
                             "the part, or leave the mark where it is least seen.",
                             opening.pour_hole ? "pour hole" : "vent", told_at(place)),
                 {{place.x(), place.y(), place.z()}});
        }
    }

    [[nodiscard]] VentPlan vents_for(const Openings& openings,
                                     std::vector<HolePlace> allowed) const {
        VentOptions wanted;
        wanted.openings = openings;
        wanted.min_gain_mm3 = options_.smallest_pocket_mm3;
        wanted.width_mm = width_mm_;
        wanted.allowed = std::move(allowed);
        return vent_plan(solid_, tree_, wanted);
    }

    void propose(const Openings& openings) {
        const VentPlan vents = vents_for(openings, allowed_);
        squeeze(0, vents.trapped_mm3);
        for (const Vent& vent : vents.vents) {
            squeeze(block_.left_after.size(), vent.residual_mm3);
            if (static_cast<int>(block_.vents.size()) < options_.most_vents) {
                block_.vents.push_back({vent.place_mm, vent.gain_mm3, vent.residual_mm3, width_mm_,
                                        false, place_words(conditions_.frame, vent.place_mm).words,
                                        vent.merged});
                block_.trapped_vented_mm3 = vent.residual_mm3;
            }
        }
    }

    // What is left with so many vents, and once the foam has pressed on it.
    void squeeze(std::size_t vents, double trapped_mm3) {
        block_.pressure_kpa = conditions_.pressure_kpa;
        constexpr std::size_t kMostTold = 8;
        if (block_.left_after.size() <= kMostTold) {
            block_.left_after.push_back(
                {vents, trapped_mm3, squeezed_volume_mm3(trapped_mm3, block_.pressure_kpa)});
        }
    }

    // The same count of vents, and the pour hole, without a show side.
    void show_cost() {
        if (!block_.show) {
            return;
        }
        const VentPlan vents = vents_for(given_openings(), {});
        double left = vents.trapped_mm3;
        if (options_.vents_at_mm.empty()) {
            const auto most = static_cast<std::size_t>(std::max(0, options_.most_vents));
            const std::size_t count = std::min(vents.vents.size(), most);
            left = count > 0 ? vents.vents[count - 1].residual_mm3 : left;
        }
        block_.show->cost_mm3 = std::max(0.0, block_.trapped_vented_mm3 - left);
    }

    // Where the liquid gathers that comes down under the pour hole.
    void pool() {
        const auto hole = std::find_if(block_.openings.begin(), block_.openings.end(),
                                       [](const SizedOpening& o) { return o.opening.pour_hole; });
        PoolOptions options;
        if (hole != block_.openings.end()) {
            options.pour_place_mm = landing_mm(solid_, tree_.up, hole->opening.place_mm);
        }
        options.liquid_mm3 = conditions_.liquid_mm3;
        options.min_volume_mm3 = options_.smallest_pocket_mm3;
        block_.pools = pools(solid_, solid_.build(-tree_.up), options);
    }

    void narrow() {
        context_.report("necks", 0.0);
        if (!(options_.neck_mm > 0.0)) {
            return;
        }
        std::vector<Opening> openings;
        for (const SizedOpening& sized : block_.openings) {
            openings.push_back(sized.opening);
        }
        for (const SizedVent& vent : block_.vents) {
            Opening opening;
            opening.place_mm = vent.at_mm;
            openings.push_back(opening);
        }
        NarrowNecks necks =
            narrow_necks(solid_.mesh(), solid_.bvh(), tree_.up, openings,
                         {.width_mm = options_.neck_mm, .columns = kNeckColumns}, context_);
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

    // The same by upright columns, a second method that shares nothing but the mesh.
    void second_method() {
        context_.report("second method", 0.0);
        const double volume = conditions_.volume_mm3;
        const double limit = std::max(kMethodsDiffer * volume, block_.smallest_pocket_mm3);
        const ColumnOptions options;
        const ColumnTree columns = column_tree(solid_.mesh(), block_.up, options, context_);
        // Pieces half as large as what would matter: smaller ones need no partner.
        const TreeComparison seen = compare(solid_, tree_, columns, 0.5 * limit);
        block_.second = {options.columns, seen.largest_mm3, seen.volume_mm3};
        const double most = std::max(seen.largest_mm3, std::abs(seen.volume_mm3));
        if (most > limit) {
            find(
                Severity::warning, "air_methods_differ",
                fmt::format("A second way of finding the air (upright columns) differs by {}, {} "
                            "% of the part; the surface crosses itself, or the part has gaps finer "
                            "than {}: take the pockets with care.",
                            told_own(most, Kind::volume, 2), significant(100.0 * most / volume, 2),
                            told_own(columns.spacing_mm, Kind::length, 2)));
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
        for (const SizedOpening& sized : block_.openings) {
            const Opening& opening = sized.opening;
            if (opening.given && opening.moved_mm > kMoved_mm) {
                const Vec3& place = opening.place_mm;
                find(Severity::note, "opening_moved",
                     fmt::format("A {} was given {} off the part and is taken as the nearest place "
                                 "on it, {}.",
                                 opening.pour_hole ? "pour hole" : "vent",
                                 told_own(opening.moved_mm, Kind::length, 2), told_at(place)),
                     {{place.x(), place.y(), place.z()}});
            }
        }
        if (tree_.roots.size() > 1) {
            find(Severity::warning, "several_solids",
                 fmt::format(
                     "The file holds {} separate solids; each needs {} of its own.",
                     tree_.roots.size(),
                     after() == PourHoleAfter::none ? "an open half and a vent" : "a pour hole"));
        }
        note_holes_that_clash();
    }

    // A solid that air can't leave at all.
    bool note_no_opening() {
        Openings all = given_openings();
        all.pour_holes_mm.clear();
        all.vents_mm.clear();
        for (const SizedVent& vent : block_.vents) {
            all.vents_mm.push_back(vent.at_mm);
        }
        std::size_t closed = tree_.roots.size();
        std::vector<std::int32_t> open;
        for (const Opening& opening : placed_openings(solid_, tree_, all)) {
            if (opening.lets_air_out &&
                std::find(open.begin(), open.end(), opening.root) == open.end()) {
                open.push_back(opening.root);
            }
        }
        closed -= open.size();
        if (closed == 0) {
            return false;
        }
        find(Severity::stop, "no_opening",
             fmt::format(
                 "{} without any opening while the foam rises, and all air stays: allow a vent "
                 "more ({}, {}), or leave the pour hole open through a drilled cover ({} vented).",
                 tree_.roots.size() == 1
                     ? "The mold is"
                     : fmt::format("{} of {} solids are", closed, tree_.roots.size()),
                 setting("most-vents"), setting("vent"), setting("pour-hole-after")));
        return true;
    }

    // Two holes in one place, or one wider than what it is drilled into.
    void note_holes_that_clash() {
        const double apart = vent_radius_mm() + pour_radius_mm();
        for (const SizedOpening& sized : block_.openings) {
            const Opening& opening = sized.opening;
            if (!opening.pour_hole || opening.lets_air_out) {
                continue;
            }
            for (std::size_t i = 0; i < block_.vents.size(); ++i) {
                const Vec3& place = block_.vents[i].at_mm;
                if ((place - opening.place_mm).norm() < apart) {
                    find(Severity::warning, "vent_in_pour_hole",
                         fmt::format("Vent {} at {} lies in the plugged pour hole; drill the plug "
                                     "({} vented), or move one of them.",
                                     i + 1, told_at(place), setting("pour-hole-after")),
                         {{place.x(), place.y(), place.z()}});
                }
            }
        }
        if (block_.cover_drill_mm > conditions_.pour_hole_width_mm) {
            find(Severity::warning, "pour_hole_narrow_for_air",
                 fmt::format("The air needs a hole of {} and the pour hole is {} wide; make it "
                             "wider ({}).",
                             told_own(block_.cover_drill_mm, Kind::length, 3),
                             told_own(conditions_.pour_hole_width_mm, Kind::length, 3),
                             setting("pour-hole-width")));
        }
    }

    static constexpr int kNeckColumns = 128;

    const AirTreeBuilder& solid_;
    const AirOptions& options_;
    const AirConditions& conditions_;
    const RunContext& context_;
    AirTree tree_;
    double width_mm_ = 0.0;           // of a vent
    std::vector<HolePlace> allowed_;  // for vents; empty: anywhere
    ShowSurface keep_off_;
    AirBlock block_;
    std::vector<Finding> findings_;
};

}  // namespace

AirStage air_stage(const AirTreeBuilder& solid, const AirOptions& options,
                   const AirConditions& conditions, const RunContext& context) {
    return AirPlanner(solid, options, conditions, context).run();
}

MoldHoles mold_holes(const AirTreeBuilder& solid, const AirOptions& options,
                     const AirConditions& conditions, const RunContext& context) {
    return AirPlanner(solid, options, conditions, context).holes();
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

OrientationOptions orientation_options(const AirOptions& options) {
    OrientationOptions search;
    search.most_vents = static_cast<std::size_t>(options.most_vents);
    search.pour_hole_after = options.pour_hole_after.value_or(PourHoleAfter::vented);
    search.asked = options.up;
    search.show = options.show;
    search.weights = options.weights;
    return search;
}

}  // namespace cavigram::detail
