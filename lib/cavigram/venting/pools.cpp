// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/pools.h"

#include <algorithm>

#include "cavigram/geom/triangle.h"
#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/plateau.h"
#include "cavigram/venting/trapped_detail.h"

namespace cavigram {

using detail::at;

namespace {

// Where a basin's way out meets the pour place's: upside down it is the saddle at which both join,
// the lowest that any way between the two can pass. -1: the pour place lies in it, or elsewhere.
std::int32_t meeting(const AirTree& tree, const std::vector<char>& on_pour_way, std::int32_t arc) {
    if (at(on_pour_way, arc) != 0) {
        return -1;
    }
    while (at(tree.arcs, arc).parent >= 0) {
        const std::int32_t parent = at(tree.arcs, arc).parent;
        if (at(on_pour_way, parent) != 0) {
            return arc;
        }
        arc = parent;
    }
    return -1;
}

// How high the liquid stands: in the first basin down from the pour place that it does not run
// over. Where it spills into others it stands at the sill until they are full.
double level_height(const AirTreeBuilder& solid, const AirTree& tree,
                    const std::vector<std::int32_t>& way, double liquid_mm3) {
    std::size_t i = 0;
    while (i + 1 < way.size() && liquid_mm3 > at(tree.arcs, way[i]).volume_mm3) {
        ++i;
    }
    const AirTree::Arc& arc = at(tree.arcs, way[i]);
    // Upside down, what lies below a level is what lies above it.
    const auto held = [&](double height) { return solid.volume_above_mm3(tree, way[i], height); };
    double low = i > 0 ? arc.top_height_mm : arc.peak_height_mm;  // nearer the floor
    double high = arc.saddle_height_mm;
    if (held(low) >= liquid_mm3) {
        return -low;
    }
    constexpr int kHalvings = 40;
    for (int k = 0; k < kHalvings; ++k) {
        const double half = 0.5 * (low + high);
        (held(half) < liquid_mm3 ? low : high) = half;
    }
    return -high;
}

}  // namespace

Vec3 landing_mm(const AirTreeBuilder& solid, const Vec3& up, const Vec3& place_mm) {
    // From a hair inside, so that the ray does not run along the wall that the place is on.
    const double hair = 1e-4 * solid.bounds_mm().diagonal().norm();
    const NearestPoint nearest = solid.bvh().nearest(place_mm);
    const auto t = static_cast<std::size_t>(nearest.triangle);
    const TriMesh& mesh = solid.mesh();
    const Vec3 normal =
        double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).normalized();
    const Vec3 origin = place_mm - hair * normal;
    if (!normal.allFinite() || !solid.bvh().inside(origin)) {
        return place_mm;
    }
    const Vec3 down = -up.normalized();
    const RayHit hit = solid.bvh().first_hit(origin, down);
    return hit.triangle < 0 ? place_mm : Vec3(origin + hit.t * down);
}

Pools pools(const AirTreeBuilder& solid, const AirTree& upside_down, const PoolOptions& options) {
    Pools result;
    std::vector<char> on_pour_way(upside_down.arcs.size(), 0);
    std::vector<std::int32_t> way;  // from the pour place's own basin to the whole solid
    if (options.pour_place_mm) {
        PocketOptions placing;
        placing.snap_limit_mm = options.snap_limit_mm;
        const Opening pour =
            placed_openings(solid, upside_down, {{*options.pour_place_mm}, {}}, placing).front();
        for (std::int32_t a = pour.arc; a >= 0; a = at(upside_down.arcs, a).parent) {
            at(on_pour_way, a) = 1;
            way.push_back(a);
        }
        result.landing_mm = pour.place_mm;
        if (options.liquid_mm3) {
            result.level_height_mm =
                level_height(solid, upside_down, way, std::max(0.0, *options.liquid_mm3));
        }
    }
    const double least =
        options.min_volume_mm3.value_or(default_min_volume_mm3(upside_down.volume_mm3));
    const double level = kLevelShare * solid.bounds_mm().diagonal().norm();
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
        const std::int32_t joins = meeting(upside_down, on_pour_way, branch.arc);
        if (joins >= 0) {
            pool.entry_height_mm = -at(upside_down.arcs, joins).saddle_height_mm;
            // What the pour place's side holds up to that sill.
            for (const std::int32_t a : way) {
                if (at(upside_down.arcs, a).parent == at(upside_down.arcs, joins).parent) {
                    pool.entry_mm3 = at(upside_down.arcs, a).volume_mm3;
                }
            }
            pool.reached = !options.liquid_mm3 || *options.liquid_mm3 > pool.entry_mm3;
        }
        pool.floor_mm = plateau_middle_mm(solid, upside_down.up, pool.floor_vertex);
        listed.back() = static_cast<std::int32_t>(result.pools.size());
        result.pools.push_back(pool);
    }
    detail::sort_nested(result.pools);
    return result;
}

}  // namespace cavigram
