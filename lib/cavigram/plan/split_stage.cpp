// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <limits>
#include <utility>

#include "cavigram/plan/split_stage_detail.h"

namespace cavigram::detail {

namespace {

// A drawn line may stray by this: less than a pencil's width.
constexpr double kPencil_mm = 0.1;

double distance_mm(const Vec3& p, const std::vector<std::vector<Vec3>>& loops) {
    double nearest = std::numeric_limits<double>::infinity();
    for (const std::vector<Vec3>& loop : loops) {
        nearest = std::min(nearest, distance_to_loop_mm(p, loop));
    }
    return nearest;
}

std::vector<HoleAtLine> holes_at_line(const AirBlock& air,
                                      const std::vector<std::vector<Vec3>>& loops) {
    std::vector<HoleAtLine> holes;
    if (loops.empty()) {
        return holes;
    }
    for (const SizedOpening& opening : air.openings) {
        if (opening.opening.pour_hole) {
            holes.push_back(
                {true, opening.opening.place_mm, distance_mm(opening.opening.place_mm, loops)});
        }
    }
    for (const SizedVent& vent : air.vents) {
        holes.push_back({false, vent.at_mm, distance_mm(vent.at_mm, loops)});
    }
    return holes;
}

SplitOptions options_of(const SplitChoice& choice, const AirOptions& options) {
    SplitOptions wanted;
    wanted.pull = choice.pull;
    wanted.show = options.show;
    wanted.stretch_limit = choice.stretch_limit.value_or(wanted.stretch_limit);
    if (options.up_given) {
        wanted.up = options.up;
    }
    return wanted;
}

}  // namespace

Together rank_together(const TriMesh& mesh, const TriangleBvh& surface, const MassProperties& mass,
                       const Orientations& ways, const SplitChoice& choice,
                       const AirOptions& options, const RunContext& context) {
    Together together;
    together.search = split_search(mesh, surface, options_of(choice, options), context);
    std::vector<RankedWayUp> rows = ways.rows;
    if (options.up_given) {
        std::erase_if(rows, [](const RankedWayUp& row) { return !row.asked; });
    }
    together.ranked =
        cavigram::rank_together(rows.empty() ? ways.rows : rows, ways.limit_mm3,
                                together.search.rows, mass.bounds_mm.diagonal().norm());
    return together;
}

SplitBlock split_stage(const TriMesh& mesh, const TriangleBvh& surface, const SplitChoice& choice,
                       const AirOptions& options, const AirBlock* air,
                       std::optional<Together> together, const RunContext& context) {
    SplitOptions wanted = options_of(choice, options);
    if (air != nullptr) {
        wanted.up = options.up;
    }
    SplitBlock block;
    if (together && !choice.pull) {
        wanted.pull = together->ranked.pairs.front().pull;
        block.found = split_mold(mesh, surface, wanted, std::move(together->search), context);
    } else {
        block.found = split_mold(mesh, surface, wanted, context);
    }
    if (together) {
        block.together = std::move(together->ranked);
    }
    for (const PartingLoop& loop : block.found.parting.line.loops) {
        block.line_mm.push_back(thinned_loop(loop.points_mm, kPencil_mm));
    }
    if (air != nullptr) {
        block.holes = holes_at_line(*air, block.line_mm);
    }
    return block;
}

}  // namespace cavigram::detail
