// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/way_and_pull.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

// In vents; guesses.
constexpr double kShowHole = 2.0;     // a hole on the show side
constexpr double kAir = 2.0;          // air as much as needs no vent, beyond that
constexpr double kMostAir = 10.0;     // worse than this is no plan anyway
constexpr double kTall = 1.0;         // a mold as tall as the part's diagonal
constexpr double kOwnWeights = 10.0;  // from best to worst by the person's own weights
constexpr double kPourHoleOff = 1.0;  // a pour hole off the line
constexpr double kVentOff = 0.5;      // a vent off the line
constexpr double kAlong = 0.5;        // a pull along the way up, which the search leaves out
// Half a pour hole's width: nearer than this a hole takes in the line.
constexpr double kOnLine_mm = 7.5;

double way_cost(const RankedWayUp& row, bool own_weights, double limit_mm3, double diagonal_mm) {
    if (own_weights) {
        return kOwnWeights * row.score;
    }
    const WayUp& way = row.value;
    const double air =
        limit_mm3 > 0.0 ? std::max(0.0, way.worst_vented_mm3 / limit_mm3 - 1.0) : 0.0;
    return std::min(kMostAir, kAir * air) + kShowHole * static_cast<double>(way.holes_on_show) +
           static_cast<double>(way.vents_needed) + kTall * way.height_mm / diagonal_mm;
}

// So that no row is cheaper than one above it.
void hold_order(std::vector<double>& costs) {
    for (std::size_t i = 1; i < costs.size(); ++i) {
        costs[i] = std::max(costs[i], costs[i - 1]);
    }
}

double from_line_mm(const Vec3& p, const RankedPull& pull) {
    double nearest = std::numeric_limits<double>::infinity();
    for (const std::vector<Vec3>& loop : pull.line_mm) {
        nearest = std::min(nearest, distance_to_loop_mm(p, loop));
    }
    return nearest;
}

void count_holes(WayAndPull& pair, const RankedWayUp& way, const RankedPull& pull) {
    const auto count = [&](const std::vector<Vec3>& holes, double off) {
        for (const Vec3& p : holes) {
            const bool on = from_line_mm(p, pull) <= kOnLine_mm;
            pair.holes += 1;
            pair.holes_on_line += on ? 1 : 0;
            pair.holes_cost += on ? 0.0 : off;
        }
    };
    count(way.holes.pour_holes_mm, kPourHoleOff);
    count(way.holes.vents_mm, kVentOff);
    if (pull.value.upright == 0.0) {
        pair.holes_cost += kAlong * std::abs(pair.up.normalized().dot(pair.pull));
    }
}

std::string on_line(const WayAndPull& pair) {
    if (pair.holes == 0) {
        return "no hole is needed";
    }
    if (pair.holes == 1) {
        return pair.holes_on_line == 1 ? "the hole lies on the parting line"
                                       : "the hole lies off the parting line";
    }
    return fmt::format("{} of {} holes lie{} on the parting line", pair.holes_on_line, pair.holes,
                       pair.holes_on_line == 1 ? "s" : "");
}

std::string vents(double cost) {
    return significant(cost, 2) + (cost == 1.0 ? " vent" : " vents");
}

// What the pair gains and loses against the first of both searches.
std::string why(const WayAndPull& best, const WayAndPull& first) {
    if (best.way_rank == first.way_rank && best.pull_rank == first.pull_rank) {
        return "the first of each search; " + on_line(best);
    }
    std::string losses;
    const auto lose = [&](const char* what, double more) {
        if (more > 0.005) {
            losses += (losses.empty() ? "" : ", ") + fmt::format("the {} {}", what, vents(more));
        }
    };
    lose("way up costs", best.way_cost - first.way_cost);
    lose("pull costs", best.pull_cost - first.pull_cost);
    return fmt::format(
        "way up {} and pull {} of their lists: {}; with the first of each {}. That "
        "is worth {}{}",
        best.way_rank, best.pull_rank, on_line(best), on_line(first),
        vents(first.holes_cost - best.holes_cost), losses.empty() ? std::string() : "; " + losses);
}

}  // namespace

WaysAndPulls rank_together(const std::vector<RankedWayUp>& ways, double limit_mm3,
                           const std::vector<RankedPull>& pulls, double diagonal_mm) {
    const bool own = std::any_of(ways.begin(), ways.end(),
                                 [](const RankedWayUp& row) { return row.score > 0.0; });
    std::vector<double> of_way;
    of_way.reserve(ways.size());
    for (const RankedWayUp& row : ways) {
        of_way.push_back(way_cost(row, own, limit_mm3, diagonal_mm));
    }
    std::vector<double> of_pull;
    of_pull.reserve(pulls.size());
    for (const RankedPull& row : pulls) {
        of_pull.push_back(row.score);
    }
    hold_order(of_way);
    hold_order(of_pull);
    WaysAndPulls result;
    for (std::size_t i = 0; i < ways.size(); ++i) {
        for (std::size_t j = 0; j < pulls.size(); ++j) {
            WayAndPull pair;
            pair.up = ways[i].value.up;
            pair.pull = pulls[j].value.pull;
            pair.way_rank = ways[i].rank;
            pair.pull_rank = pulls[j].rank;
            pair.way_cost = of_way[i];
            pair.pull_cost = of_pull[j];
            count_holes(pair, ways[i], pulls[j]);
            result.pairs.push_back(pair);
        }
    }
    const WayAndPull first = result.pairs.front();
    // Less than this nobody feels: it is rounded away, so that ranks decide.
    constexpr double kStep = 0.01;
    std::stable_sort(result.pairs.begin(), result.pairs.end(),
                     [](const WayAndPull& a, const WayAndPull& b) {
                         return std::round(a.cost() / kStep) < std::round(b.cost() / kStep);
                     });
    result.why = why(result.pairs.front(), first);
    return result;
}

}  // namespace cavigram
