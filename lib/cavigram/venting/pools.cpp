// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/pools.h"

#include <algorithm>

#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/plateau.h"
#include "cavigram/venting/trapped_detail.h"

namespace cavigram {

using detail::at;

namespace {

// Sill between the pour place and an arc's piece. Upside down it is the saddle where the piece's
// way to the root meets the pour place's, the lowest that any way between the two can pass.
std::optional<double> entry_height(const AirTree& tree, const std::vector<char>& on_pour_way,
                                   std::int32_t arc) {
    if (at(on_pour_way, arc) != 0) {
        return std::nullopt;
    }
    while (at(tree.arcs, arc).parent >= 0) {
        const std::int32_t parent = at(tree.arcs, arc).parent;
        if (at(on_pour_way, parent) != 0) {
            return -at(tree.arcs, arc).saddle_height_mm;
        }
        arc = parent;
    }
    return std::nullopt;
}

}  // namespace

Pools pools(const AirTreeBuilder& solid, const AirTree& upside_down, const PoolOptions& options) {
    std::vector<char> on_pour_way(upside_down.arcs.size(), 0);
    if (options.pour_place_mm) {
        PocketOptions placing;
        placing.snap_limit_mm = options.snap_limit_mm;
        const Opening pour =
            placed_openings(solid, upside_down, {{*options.pour_place_mm}, {}}, placing).front();
        for (std::int32_t a = pour.arc; a >= 0; a = at(upside_down.arcs, a).parent) {
            at(on_pour_way, a) = 1;
        }
    }
    const double least =
        options.min_volume_mm3.value_or(default_min_volume_mm3(upside_down.volume_mm3));
    const double level = kLevelShare * solid.bounds_mm().diagonal();
    Pools result;
    std::vector<std::int32_t> listed;
    const std::vector<char> all(upside_down.arcs.size(), 1);
    for (const detail::Branch& branch : detail::branches(upside_down.arcs, all, level)) {
        const AirTree::Arc& arc = at(upside_down.arcs, branch.arc);
        Pool pool;
        pool.arc = branch.arc;
        pool.floor_vertex = arc.peak_vertex;
        pool.floor_height_mm = -arc.peak_height_mm;
        pool.spill_height_mm = -arc.saddle_height_mm;
        pool.depth_mm = pool.spill_height_mm - pool.floor_height_mm;
        pool.volume_mm3 = arc.volume_mm3;
        pool.parent = branch.parent < 0 ? -1 : at(listed, branch.parent);
        listed.push_back(pool.parent);
        if (arc.parent >= 0 && (pool.volume_mm3 < least || pool.depth_mm < options.min_depth_mm)) {
            ++result.hidden_count;
            continue;
        }
        if (options.pour_place_mm) {
            pool.entry_height_mm = entry_height(upside_down, on_pour_way, branch.arc);
        }
        pool.floor_mm = plateau_middle_mm(solid, upside_down.up, pool.floor_vertex);
        listed.back() = static_cast<std::int32_t>(result.pools.size());
        result.pools.push_back(pool);
    }
    detail::sort_nested(result.pools);
    return result;
}

}  // namespace cavigram
