// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/vents.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/plateau.h"
#include "cavigram/venting/trapped_detail.h"

namespace cavigram {

using detail::at;

namespace {

// A path of the decomposition: the arc that it starts on, and the air that it alone frees.
struct Path {
    std::int32_t leaf = -1;
    double gain_mm3 = 0.0;
};

// Why greedy is best for every k. Where arcs meet, the child with the heavier path goes on and the
// others end; the paths are sorted by weight. Let P be the heaviest path from a root, to leaf p.
// Take any choice of k leaves without p, and of these the leaf x whose way down joins P highest up.
// Put p in the place of x: what is lost at most is x's way above the joint, what is gained is P
// above it, which no other chosen leaf frees and which is at least as heavy, being the heaviest
// from there. So some best choice contains p. Take P's weight away and repeat: the paths left are
// the same, and the best k + 1 leaves contain the best k.
//
// A path may start on an arc that no other path passes, if `start` allows: empty, any.
std::vector<Path> heaviest_paths(std::span<const AirTree::Arc> arcs,
                                 std::span<const double> own_mm3,
                                 std::span<const HolePlace> start = {}) {
    std::vector<Path> best(arcs.size());  // of the children so far, then of the arc itself
    std::vector<Path> ended;
    const auto end = [&](const Path& path) {
        if (path.leaf >= 0 && path.gain_mm3 > 0.0) {
            ended.push_back(path);
        }
    };
    for (std::size_t i = 0; i < arcs.size(); ++i) {
        Path path = best[i];
        if (path.leaf < 0 && (start.empty() || start[i].there)) {
            path.leaf = static_cast<std::int32_t>(i);
        }
        if (path.leaf < 0) {
            continue;  // nothing here or above may be opened
        }
        // Rounding can leave an empty arc with a trifle below nothing.
        path.gain_mm3 += std::max(own_mm3[i], 0.0);
        if (arcs[i].parent < 0) {
            end(path);
            continue;
        }
        Path& rival = detail::at(best, arcs[i].parent);
        // Equal paths: leaves are numbered from the top down, and the higher one goes on.
        const bool wins = rival.leaf < 0 || path.gain_mm3 > rival.gain_mm3 ||
                          (path.gain_mm3 == rival.gain_mm3 && path.leaf < rival.leaf);
        end(wins ? rival : path);
        if (wins) {
            rival = path;
        }
    }
    std::sort(ended.begin(), ended.end(), [](const Path& p, const Path& q) {
        return p.gain_mm3 != q.gain_mm3 ? p.gain_mm3 > q.gain_mm3 : p.leaf < q.leaf;
    });
    return ended;
}

// What each arc gains when it is opened from an allowed place: all of it below one in a branch
// above, and what lies below the highest in itself. An arc of less than `least_mm3` is not cut in
// two: it gains nothing.
std::vector<double> gains_below(const AirTreeBuilder& solid, const AirTree& tree,
                                const detail::TrappedArcs& trapped,
                                std::span<const HolePlace> allowed, double least_mm3) {
    std::vector<double> gains(tree.arcs.size(), 0.0);
    std::vector<char> open_above(tree.arcs.size(), 0);
    for (std::size_t i = 0; i < tree.arcs.size(); ++i) {
        const AirTree::Arc& arc = tree.arcs[i];
        const double own = trapped.own_mm3[i];
        const double lowest = std::max(arc.saddle_height_mm, trapped.open_mm[i]);
        if (open_above[i] != 0) {
            gains[i] = own;
        } else if (allowed[i].there && own >= least_mm3 && allowed[i].height_mm > lowest) {
            const double above =
                solid.volume_above_mm3(tree, static_cast<std::int32_t>(i), allowed[i].height_mm);
            gains[i] = std::clamp(own - (above - (arc.volume_mm3 - arc.own_mm3)), 0.0, own);
        }
        if (arc.parent >= 0 && (open_above[i] != 0 || allowed[i].there)) {
            at(open_above, arc.parent) = 1;
        }
    }
    return gains;
}

Vent vent_at(const AirTreeBuilder& solid, const AirTree& tree, const Path& path,
             std::span<const HolePlace> allowed) {
    const AirTree::Arc& leaf = at(tree.arcs, path.leaf);
    Vent vent;
    if (allowed.empty()) {
        vent.place_mm = plateau_middle_mm(solid, tree.up, leaf.peak_vertex);
        vent.height_mm = leaf.peak_height_mm;
    } else {
        vent.place_mm = at(allowed, path.leaf).place_mm;
        vent.height_mm = at(allowed, path.leaf).height_mm;
    }
    vent.gain_mm3 = path.gain_mm3;
    vent.peak_vertex = leaf.peak_vertex;
    vent.arc = path.leaf;
    return vent;
}

// Adds a vent, or its gain to one that is as good as in the same place.
void list(std::vector<Vent>& vents, const Vent& vent, double width_mm) {
    const auto near = std::find_if(vents.begin(), vents.end(), [&](const Vent& other) {
        return (other.place_mm - vent.place_mm).norm() < width_mm;
    });
    if (near == vents.end()) {
        vents.push_back(vent);
    } else {
        near->gain_mm3 += vent.gain_mm3;
        ++near->merged;
    }
}

}  // namespace

VentPlan vent_plan(const AirTreeBuilder& solid, const AirTree& tree, const VentOptions& options) {
    if (options.min_gain_mm3 && !(*options.min_gain_mm3 >= 0.0)) {
        throw InvalidInput(
            fmt::format("The least gain of a vent is {:g}; it must be a number that is not "
                        "negative.",
                        *options.min_gain_mm3));
    }
    CAVIGRAM_ASSERT(options.allowed.empty() || options.allowed.size() == tree.arcs.size());
    PocketOptions pocket_options;
    pocket_options.snap_limit_mm = options.snap_limit_mm;
    VentPlan plan;
    plan.openings = placed_openings(solid, tree, options.openings, pocket_options);
    const double least = options.min_gain_mm3.value_or(default_min_volume_mm3(tree.volume_mm3));
    const detail::TrappedArcs trapped = detail::trapped_arcs(solid, tree, plan.openings);
    const std::vector<Path> paths =
        options.allowed.empty()
            ? heaviest_paths(tree.arcs, trapped.own_mm3)
            : heaviest_paths(tree.arcs,
                             gains_below(solid, tree, trapped, options.allowed, 0.01 * least),
                             options.allowed);
    for (const double own : trapped.own_mm3) {
        plan.trapped_mm3 += std::max(own, 0.0);
    }
    for (const Path& path : paths) {
        plan.gains_mm3.push_back(path.gain_mm3);
    }
    for (const Path& path : paths) {
        if (path.gain_mm3 < least || plan.vents.size() == options.most_listed) {
            ++plan.hidden_count;
            plan.hidden_mm3 += path.gain_mm3;
            continue;
        }
        const Vent vent = vent_at(solid, tree, path, options.allowed);
        const bool open =
            std::any_of(plan.openings.begin(), plan.openings.end(), [&](const Opening& opening) {
                return opening.lets_air_out &&
                       (opening.place_mm - vent.place_mm).norm() < options.width_mm;
            });
        if (open) {
            plan.trapped_mm3 = std::max(plan.trapped_mm3 - path.gain_mm3, 0.0);
        } else {
            list(plan.vents, vent, options.width_mm);
        }
    }
    // Merging may have made a later one the larger.
    std::stable_sort(plan.vents.begin(), plan.vents.end(),
                     [](const Vent& p, const Vent& q) { return p.gain_mm3 > q.gain_mm3; });
    double left = plan.trapped_mm3;
    for (Vent& vent : plan.vents) {
        left = std::max(left - vent.gain_mm3, 0.0);
        vent.residual_mm3 = left;
    }
    return plan;
}

VentPlan vent_plan(const Part& part, const Vec3& up, const VentOptions& options,
                   const RunContext& context) {
    const AirTreeBuilder solid(part, {}, context);
    return vent_plan(solid, solid.build(up), options);
}

std::vector<double> vent_gains_mm3(const AirTree& tree, PourHoleAfter pour_hole_after) {
    // A pour hole on a solid's peak frees all arcs from there down: those that share the root's
    // peak.
    const bool lets_out = pour_hole_after == PourHoleAfter::vented;
    std::vector<double> own(tree.arcs.size());
    std::vector<char> free(tree.arcs.size(), 0);
    for (std::size_t i = tree.arcs.size(); i-- > 0;) {
        const AirTree::Arc& arc = tree.arcs[i];
        free[i] = arc.parent < 0 || (at(free, arc.parent) != 0 &&
                                     arc.peak_vertex == at(tree.arcs, arc.parent).peak_vertex)
                      ? 1
                      : 0;
        own[i] = lets_out && free[i] != 0 ? 0.0 : arc.own_mm3;
    }
    std::vector<double> gains;
    for (const Path& path : heaviest_paths(tree.arcs, own)) {
        gains.push_back(path.gain_mm3);
    }
    return gains;
}

std::size_t vents_needed(std::span<const double> gains_mm3, double limit_mm3) {
    // From the smallest up: how many may be left out.
    double left = 0.0;
    std::size_t needed = gains_mm3.size();
    while (needed > 0 && left + gains_mm3[needed - 1] <= limit_mm3) {
        left += gains_mm3[--needed];
    }
    return needed;
}

}  // namespace cavigram
