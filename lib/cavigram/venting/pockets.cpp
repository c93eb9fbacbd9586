// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/pockets.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/plateau.h"
#include "cavigram/venting/trapped_detail.h"

namespace cavigram {

using detail::at;
using detail::dot;

namespace {

std::int32_t root_of(const AirTree& tree, std::int32_t arc) {
    while (at(tree.arcs, arc).parent >= 0) {
        arc = at(tree.arcs, arc).parent;
    }
    return arc;
}

Opening placed(const AirTreeBuilder& solid, const AirTree& tree, const Vec3& point, bool pour_hole,
               double limit_mm) {
    const NearestPoint nearest =
        point.allFinite() ? solid.bvh().nearest(point, limit_mm) : NearestPoint{};
    if (nearest.triangle < 0) {
        throw InvalidInput(fmt::format(
            "The {} at {} lies more than {} off the surface; give a point on the part, in its own "
            "coordinates.",
            pour_hole ? "pour hole" : "vent",
            point.allFinite() ? told_place(point.x(), point.y(), point.z()) : "no place at all",
            told_own(limit_mm, Kind::length, 3)));
    }
    Opening opening;
    opening.pour_hole = pour_hole;
    opening.place_mm = nearest.point_mm;
    opening.moved_mm = nearest.distance_mm;
    opening.height_mm = dot(tree.up, nearest.point_mm);
    opening.triangle = nearest.triangle;
    opening.arc = solid.arc_at(tree, nearest.triangle, opening.height_mm);
    opening.root = root_of(tree, opening.arc);
    return opening;
}

Opening highest_place(const AirTreeBuilder& solid, const AirTree& tree, std::int32_t root) {
    const AirTree::Arc& arc = at(tree.arcs, root);
    Opening opening;
    opening.pour_hole = true;
    opening.given = false;
    opening.place_mm = plateau_middle_mm(solid, tree.up, arc.peak_vertex);
    opening.height_mm = arc.peak_height_mm;
    opening.triangle = solid.bvh().nearest(opening.place_mm).triangle;
    opening.arc = at(tree.arc_of_vertex, arc.peak_vertex);
    opening.root = root;
    return opening;
}

// The peaks that lie within the mouth of a pour hole, each as an opening.
std::vector<Opening> peaks_within(const AirTreeBuilder& solid, const AirTree& tree,
                                  std::span<const Opening> pour_holes, double mouth_mm) {
    std::vector<char> has_child(tree.arcs.size(), 0);
    for (const AirTree::Arc& arc : tree.arcs) {
        if (arc.parent >= 0) {
            at(has_child, arc.parent) = 1;
        }
    }
    std::vector<Opening> within;
    for (std::size_t a = 0; a < tree.arcs.size(); ++a) {
        if (has_child[a] != 0) {
            continue;
        }
        const std::int32_t vertex = tree.arcs[a].peak_vertex;
        const Vec3& peak = at(solid.mesh().vertices, vertex);
        const Vec3 middle = plateau_middle_mm(solid, tree.up, vertex);
        for (const Opening& hole : pour_holes) {
            const double distance =
                std::min((peak - hole.place_mm).norm(), (middle - hole.place_mm).norm());
            if (distance < 0.5 * mouth_mm) {
                Opening opening;
                opening.pour_hole = true;
                opening.given = false;
                opening.within = true;
                opening.place_mm = peak;
                opening.height_mm = tree.arcs[a].peak_height_mm;
                opening.triangle = hole.triangle;
                opening.arc = static_cast<std::int32_t>(a);
                opening.root = hole.root;
                within.push_back(opening);
                break;
            }
        }
    }
    return within;
}

double min_volume(const AirTree& tree, const PocketOptions& options) {
    return options.min_volume_mm3.value_or(default_min_volume_mm3(tree.volume_mm3));
}

void check_options(const PocketOptions& options) {
    const auto refuse = [](const char* what, double value) {
        throw InvalidInput(
            fmt::format("{} is {:g}; it must be a number that is not negative.", what, value));
    };
    if (options.min_volume_mm3 && !(*options.min_volume_mm3 >= 0.0)) {
        refuse("The size from which pockets are listed", *options.min_volume_mm3);
    }
    if (!(options.min_depth_mm >= 0.0)) {
        refuse("The depth from which pockets are listed", options.min_depth_mm);
    }
    if (options.snap_limit_mm && !(*options.snap_limit_mm >= 0.0)) {
        refuse("The distance that an opening may lie off the surface", *options.snap_limit_mm);
    }
}

// An arc whose parent is free begins a pocket; so does one that an opening cuts, since its parent
// is then free.
TrappedAir trapped_air(const AirTreeBuilder& solid, const AirTree& tree,
                       const std::vector<Opening>& openings, const PocketOptions& options) {
    const detail::TrappedArcs arcs = detail::trapped_arcs(solid, tree, openings);
    const double least_mm3 = min_volume(tree, options);
    const double level = kLevelShare * solid.bounds_mm().diagonal().norm();
    TrappedAir result;
    for (const double own : arcs.own_mm3) {
        result.total_mm3 += own;
    }
    std::vector<std::int32_t>
        listed;  // place in the list of each branch, or of what it is nested in
    for (const detail::Branch& branch : detail::branches(tree.arcs, arcs.trapped, level)) {
        const AirTree::Arc& arc = at(tree.arcs, branch.arc);
        const double open = at(arcs.open_mm, branch.arc);
        Pocket pocket;
        pocket.arc = branch.arc;
        pocket.peak_vertex = arc.peak_vertex;
        pocket.peak_height_mm = arc.peak_height_mm;
        pocket.spill_height_mm = std::max(arc.saddle_height_mm, open);
        pocket.depth_mm = pocket.peak_height_mm - pocket.spill_height_mm;
        pocket.volume_mm3 = open > arc.saddle_height_mm
                                ? arc.volume_mm3 - arc.own_mm3 + at(arcs.own_mm3, branch.arc)
                                : arc.volume_mm3;
        pocket.parent = branch.parent < 0 ? -1 : at(listed, branch.parent);
        listed.push_back(pocket.parent);
        const bool nested = branch.parent >= 0;
        if (pocket.volume_mm3 < least_mm3 || pocket.depth_mm < options.min_depth_mm) {
            result.hidden_count += nested ? 0 : 1;
            result.hidden_mm3 += nested ? 0.0 : pocket.volume_mm3;
            result.hidden_nested += nested ? 1 : 0;
            continue;
        }
        pocket.peak_mm = plateau_middle_mm(solid, tree.up, pocket.peak_vertex);
        listed.back() = static_cast<std::int32_t>(result.pockets.size());
        result.pockets.push_back(pocket);
    }
    detail::sort_nested(result.pockets);
    return result;
}

}  // namespace

const char* to_text(PourHoleAfter after) {
    switch (after) {
        case PourHoleAfter::vented:
            return "vented";
        case PourHoleAfter::plugged:
            return "plugged";
        case PourHoleAfter::none:
            return "none";
    }
    return "vented";
}

PourHoleAfter parse_pour_hole_after(std::string_view text, std::string_view name) {
    return parse_choice<PourHoleAfter>(
        text, name, {PourHoleAfter::vented, PourHoleAfter::plugged, PourHoleAfter::none});
}

double squeezed_volume_mm3(double volume_mm3, double gauge_kpa) {
    CAVIGRAM_ASSERT(gauge_kpa > -kAtmosphere_kpa);
    return volume_mm3 * kAtmosphere_kpa / (kAtmosphere_kpa + gauge_kpa);
}

double default_min_volume_mm3(double solid_volume_mm3) {
    constexpr double kBubble_mm3 = 100.0;
    constexpr double kShare = 1e-5;
    return std::max(kBubble_mm3, kShare * solid_volume_mm3);
}

std::vector<Opening> placed_openings(const AirTreeBuilder& solid, const AirTree& tree,
                                     const Openings& openings, const PocketOptions& options) {
    check_options(options);
    const double limit =
        options.snap_limit_mm.value_or(std::max(2.0, 0.01 * solid.bounds_mm().diagonal().norm()));
    const bool none = openings.pour_hole_after == PourHoleAfter::none;
    if (none && !openings.pour_holes_mm.empty()) {
        throw InvalidInput(
            "A pour hole is given a place although there shall be none; leave its place out, or "
            "say whether it is vented or plugged.");
    }
    std::vector<Opening> result;
    for (const Vec3& point : openings.pour_holes_mm) {
        result.push_back(placed(solid, tree, point, true, limit));
    }
    for (const std::int32_t root : tree.roots) {
        const bool has = std::any_of(result.begin(), result.end(),
                                     [root](const Opening& o) { return o.root == root; });
        if (!has && !none) {
            result.push_back(highest_place(solid, tree, root));
        }
    }
    if (openings.mouth_mm > 0.0 && openings.pour_hole_after == PourHoleAfter::vented) {
        const std::vector<Opening> within = peaks_within(solid, tree, result, openings.mouth_mm);
        result.insert(result.end(), within.begin(), within.end());
    }
    for (Opening& pour_hole : result) {
        pour_hole.lets_air_out = openings.pour_hole_after == PourHoleAfter::vented;
    }
    for (const Vec3& point : openings.vents_mm) {
        result.push_back(placed(solid, tree, point, false, limit));
    }
    return result;
}

AirPockets air_pockets(const AirTreeBuilder& solid, const AirTree& tree, const Openings& openings,
                       const PocketOptions& options) {
    AirPockets result;
    result.volume_mm3 = tree.volume_mm3;
    result.openings = placed_openings(solid, tree, openings, options);
    result.min_volume_mm3 = min_volume(tree, options);
    std::vector<Opening> pour_holes;
    std::copy_if(result.openings.begin(), result.openings.end(), std::back_inserter(pour_holes),
                 [](const Opening& o) { return o.pour_hole; });
    result.unvented = trapped_air(solid, tree, pour_holes, options);
    result.vented = openings.vents_mm.empty() ? result.unvented
                                              : trapped_air(solid, tree, result.openings, options);
    return result;
}

AirPockets air_pockets(const Part& part, const Vec3& up, const Openings& openings,
                       const PocketOptions& options, const RunContext& context) {
    const AirTreeBuilder solid(part, {}, context);
    return air_pockets(solid, solid.build(up), openings, options);
}

}  // namespace cavigram
