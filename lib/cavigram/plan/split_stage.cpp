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

}  // namespace

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

SplitOptions split_options(const SplitChoice& choice, const AirOptions& options) {
    SplitOptions wanted;
    wanted.pull = choice.pull;
    wanted.show = options.show;
    wanted.stretch_limit = choice.stretch_limit.value_or(wanted.stretch_limit);
    if (options.up_given) {
        wanted.up = options.up;
    }
    return wanted;
}

PullSearch PullSearchKey::make(const RunContext& context) const {
    return split_search(part->part.mesh(), *stand_in, options, context);
}

WaysAndPulls ways_and_pulls(const Orientations& ways, const PullSearch& search,
                            const MassProperties& mass, const AirOptions& options) {
    std::vector<RankedWayUp> rows = ways.rows;
    if (options.up_given) {
        std::erase_if(rows, [](const RankedWayUp& row) { return !row.asked; });
    }
    return rank_together(rows.empty() ? ways.rows : rows, ways.limit_mm3, search.rows,
                         mass.bounds_mm.diagonal().norm());
}

SplitBlock SplitKey::make(const RunContext& context) const {
    SplitBlock block;
    const TriMesh& mesh = part->part.mesh();
    block.found = search ? split_mold(mesh, *surface, options, *search, context)
                         : split_mold(mesh, *surface, options, context);
    for (const PartingLoop& loop : block.found.parting.line.loops) {
        block.line_mm.push_back(thinned_loop(loop.points_mm, kPencil_mm));
    }
    return block;
}

}  // namespace cavigram::detail
