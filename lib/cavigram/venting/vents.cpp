// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/vents.h"

#include <algorithm>
#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/plateau.h"
#include "cavigram/venting/trapped_detail.h"

namespace cavigram {

using detail::at;

namespace {

// A path of the decomposition: its leaf, and the air that it alone frees.
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
std::vector<Path> heaviest_paths(std::span<const AirTree::Arc> arcs,
                                 std::span<const double> own_mm3) {
    std::vector<Path> best(arcs.size());  // of the children so far, then of the arc itself
    std::vector<Path> ended;
    const auto end = [&](const Path& path) {
        if (path.leaf >= 0 && path.gain_mm3 > 0.0) {
            ended.push_back(path);
        }
    };
    for (std::size_t i = 0; i < arcs.size(); ++i) {
        Path path = best[i];
        if (path.leaf < 0) {
            path.leaf = static_cast<std::int32_t>(i);
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

}  // namespace

VentPlan vent_plan(const AirTreeBuilder& solid, const AirTree& tree, const VentOptions& options) {
    if (options.min_gain_mm3 && !(*options.min_gain_mm3 >= 0.0)) {
        throw InvalidInput(
            format("The least gain of a vent is %g mm3; it must be a number that is "
                   "not negative.",
                   *options.min_gain_mm3));
    }
    PocketOptions pocket_options;
    pocket_options.snap_limit_mm = options.snap_limit_mm;
    VentPlan plan;
    plan.openings = placed_openings(solid, tree, options.openings, pocket_options);
    const detail::TrappedArcs trapped = detail::trapped_arcs(solid, tree, plan.openings);
    const std::vector<Path> paths = heaviest_paths(tree.arcs, trapped.own_mm3);
    for (const Path& path : paths) {
        plan.trapped_mm3 += path.gain_mm3;
        plan.gains_mm3.push_back(path.gain_mm3);
    }
    const double least = options.min_gain_mm3.value_or(default_min_volume_mm3(tree.volume_mm3));
    double left = plan.trapped_mm3;
    for (const Path& path : paths) {
        if (path.gain_mm3 < least || plan.vents.size() == options.most_listed) {
            ++plan.hidden_count;
            plan.hidden_mm3 += path.gain_mm3;
            continue;
        }
        left = std::max(left - path.gain_mm3, 0.0);
        const AirTree::Arc& leaf = at(tree.arcs, path.leaf);
        Vent vent;
        vent.place_mm = plateau_middle_mm(solid, tree.up, leaf.peak_vertex);
        vent.height_mm = leaf.peak_height_mm;
        vent.gain_mm3 = path.gain_mm3;
        vent.residual_mm3 = left;
        vent.peak_vertex = leaf.peak_vertex;
        vent.arc = path.leaf;
        plan.vents.push_back(vent);
    }
    return plan;
}

VentPlan vent_plan(const Part& part, const Vec3& up, const VentOptions& options,
                   const RunContext& context) {
    const AirTreeBuilder solid(part, {}, context);
    return vent_plan(solid, solid.build(up), options);
}

std::vector<double> vent_gains_mm3(const AirTree& tree) {
    // A pour hole on a solid's peak frees all arcs from there down: those that share the root's
    // peak.
    std::vector<double> own(tree.arcs.size());
    std::vector<char> free(tree.arcs.size(), 0);
    for (std::size_t i = tree.arcs.size(); i-- > 0;) {
        const AirTree::Arc& arc = tree.arcs[i];
        free[i] = arc.parent < 0 || (at(free, arc.parent) != 0 &&
                                     arc.peak_vertex == at(tree.arcs, arc.parent).peak_vertex)
                      ? 1
                      : 0;
        own[i] = free[i] != 0 ? 0.0 : arc.own_mm3;
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
