// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <limits>

#include "cavigram/plan/split_stage_detail.h"

namespace cavigram::detail {

namespace {

// A drawn line may stray by this: less than a pencil's width.
constexpr double kPencil_mm = 0.1;

double distance_mm(const Vec3& p, const std::vector<std::vector<Vec3>>& loops) {
    double nearest = std::numeric_limits<double>::infinity();
    for (const std::vector<Vec3>& loop : loops) {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            const Vec3& a = loop[i];
            const Vec3 way = loop[(i + 1) % loop.size()] - a;
            const double square = way.squaredNorm();
            const double share =
                square > 0.0 ? std::clamp((p - a).dot(way) / square, 0.0, 1.0) : 0.0;
            nearest = std::min(nearest, (p - a - share * way).norm());
        }
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

SplitOptions split_options(const SplitChoice& choice, const AirOptions& options, bool placed) {
    SplitOptions wanted;
    wanted.pull = choice.pull;
    wanted.show = options.show;
    wanted.stretch_limit = choice.stretch_limit.value_or(wanted.stretch_limit);
    if (placed || options.up_given) {
        wanted.up = options.up;
    }
    return wanted;
}

SplitBlock SplitKey::make(const RunContext& context) const {
    SplitBlock block;
    block.found = split_mold(part->part.mesh(), *surface, options, context);
    for (const PartingLoop& loop : block.found.parting.line.loops) {
        block.line_mm.push_back(thinned_loop(loop.points_mm, kPencil_mm));
    }
    return block;
}

}  // namespace cavigram::detail
