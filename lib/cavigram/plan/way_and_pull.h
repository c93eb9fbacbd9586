// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/molding/pull_search.h"
#include "cavigram/pour/orientations.h"

namespace cavigram {

/// A way up and a pull that are planned together. Costs count in vents: what one more vent is worth
/// to a person who must drill, plug and trim it.
struct WayAndPull {
    Vec3 up = Vec3::UnitZ();        ///< How the mold stands while the foam rises.
    Vec3 pull = Vec3::UnitZ();      ///< How it comes apart.
    int way_rank = 0;               ///< Among the ways up,
    int pull_rank = 0;              ///< and among the pulls.
    double way_cost = 0.0;          ///< Of the way up: air, vents, holes on the show side, height.
    double pull_cost = 0.0;         ///< Of the pull: RankedPull::score.
    double holes_cost = 0.0;        ///< Of pour hole and vents off the line, and a pull along the
                                    ///< way up.
    std::size_t holes = 0;          ///< Pour hole and vents of that way up,
    std::size_t holes_on_line = 0;  ///< of which so many lie on the parting line.
    /// The sum.
    [[nodiscard]] double cost() const { return way_cost + pull_cost + holes_cost; }
};

/// Two searches as one.
struct WaysAndPulls {
    std::vector<WayAndPull> pairs;  ///< All, the cheapest first.
    std::string why;                ///< Of the first against the best of each search, told.
};

/// Ranks all pairs of a way up and a pull, so that the first is one whole plan: the cost of either
/// by itself, and that of holes off the parting line, where a channel for them can't just be cut
/// into the rubber's edge.
///
/// No row of a search costs less than one that is ranked above it there: so a pair leaves the first
/// of both only for what the other search, or the holes, gain by it. All weights are guesses
/// (common practice, no source); docs/rooms/plan.md lists them. Equal pairs in the order of their
/// ranks.
///
/// O(ways * pulls * points of the lines)
///
/// \pre neither is empty; rows in the order of their ranks
[[nodiscard]] WaysAndPulls rank_together(const std::vector<RankedWayUp>& ways, double limit_mm3,
                                         const std::vector<RankedPull>& pulls, double diagonal_mm);

}  // namespace cavigram
