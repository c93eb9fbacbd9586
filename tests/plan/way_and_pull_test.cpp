// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/way_and_pull.h"

#include <algorithm>

#include "cavigram/geom/directions.h"
#include "cavigram/plan/plan.h"

#include "support/kept_plan.h"
#include "support/near.h"

using namespace cavigram;

namespace {

constexpr double kDiagonal_mm = 200.0;

RankedWayUp way(int rank, const Vec3& up, const Vec3& pour_hole, double vents = 0.0) {
    RankedWayUp row;
    row.rank = rank;
    row.value.up = up;
    row.value.height_mm = 100.0;
    row.value.vents_needed = static_cast<std::size_t>(vents);
    row.holes.pour_holes_mm = {pour_hole};
    return row;
}

// A square line of 100 mm across the pull, through the origin.
RankedPull pull(int rank, const Vec3& along, double score = 0.0) {
    RankedPull row;
    row.rank = rank;
    row.value.pull = along;
    row.value.valid = true;
    row.score = score;
    const Frame frame = frame_along(along);
    row.line_mm = {{50 * frame.x + 50 * frame.y, 50 * frame.y - 50 * frame.x,
                    -50 * frame.x - 50 * frame.y, 50 * frame.x - 50 * frame.y}};
    return row;
}

WaysAndPulls together(const std::vector<RankedWayUp>& ways, const std::vector<RankedPull>& pulls) {
    return rank_together(ways, 100.0, pulls, kDiagonal_mm);
}

const Vec3 kX = Vec3::UnitX();
const Vec3 kZ = Vec3::UnitZ();

}  // namespace

// A pour hole on top, at (0, 0, 50): on the line of a pull along x, 50 mm off that of one along z.
// By hand: off the line 1, along the way up 0.5.
TEST_CASE("a pull whose line takes the pour hole in wins over one that is a little better") {
    const std::vector<RankedWayUp> ways = {way(1, kZ, {0, 0, 50})};
    const WaysAndPulls found = together(ways, {pull(1, kZ, 5.0), pull(2, kX, 6.0)});
    REQUIRE(found.pairs.size() == 2);
    const WayAndPull& best = found.pairs.front();
    CHECK(best.pull == kX);
    CHECK(best.holes_on_line == 1);
    CHECK(best.holes_cost == 0.0);
    CHECK_NEAR(best.way_cost, 0.5, 1e-12);  // 100 of 200 mm high
    CHECK_NEAR(best.pull_cost, 6.0, 1e-12);
    CHECK_NEAR(found.pairs[1].holes_cost, 1.5, 1e-12);
    CHECK_NEAR(found.pairs[1].cost(), 0.5 + 5.0 + 1.5, 1e-12);
    CHECK(found.why.find("way up 1 and pull 2") == 0);
    CHECK(found.why.find("the pull costs 1.0 vent") != std::string::npos);
    // Not over one that is much better.
    CHECK(together(ways, {pull(1, kZ, 5.0), pull(2, kX, 7.0)}).pairs.front().pull == kZ);
}

TEST_CASE("another way up for a pull without slits, or none that costs too much") {
    const RankedPull slit = pull(2, kX, 4.0);
    const std::vector<RankedPull> pulls = {pull(1, kZ), slit};
    // With z up the hole lies off the line of the pull that needs no slit: 1.5, less than a slit.
    CHECK(together({way(1, kZ, {0, 0, 50})}, pulls).pairs.front().pull == kZ);
    // Lying on its side it lies on it, for one vent more.
    const WaysAndPulls found =
        together({way(1, kZ, {0, 0, 50}), way(2, kX, {50, 0, 0}, 1.0)}, pulls);
    CHECK(found.pairs.front().way_rank == 2);
    CHECK(found.pairs.front().pull_rank == 1);
    // For two vents more it stays as it was.
    CHECK(together({way(1, kZ, {0, 0, 50}), way(2, kX, {50, 0, 0}, 2.0)}, pulls)
              .pairs.front()
              .way_rank == 1);
}

TEST_CASE("the order of either search holds by itself, and ties go to it") {
    // The second way up has less air by the weights here, but its own search put it second.
    std::vector<RankedWayUp> ways = {way(1, kZ, {0, 0, 50}, 2.0), way(2, kZ, {0, 0, 50}, 0.0)};
    const WaysAndPulls found = together(ways, {pull(1, kX), pull(2, kX)});
    CHECK(found.pairs.front().way_rank == 1);
    CHECK(found.pairs.front().pull_rank == 1);
    CHECK(found.pairs.front().cost() == found.pairs.back().cost());
    CHECK(found.why.find("the first of each search") == 0);
    REQUIRE(found.pairs.size() == 4);
    CHECK(found.pairs[1].pull_rank == 2);
}

TEST_CASE("a person's own weights count instead of the fixed order") {
    std::vector<RankedWayUp> ways = {way(1, kZ, {0, 0, 50}), way(2, kX, {50, 0, 0})};
    ways[0].score = 0.1;
    ways[1].score = 0.3;
    const WaysAndPulls found = together(ways, {pull(1, kX)});
    CHECK_NEAR(found.pairs.front().way_cost, 1.0, 1e-12);
    CHECK_NEAR(found.pairs.back().way_cost, 3.0, 1e-12);
}

TEST_CASE("the plan is for the first pair; what is given stays") {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    request.air.up_given = false;
    const Plan plan = kept_plan(request, {.air = true, .orient = true, .split = true});
    REQUIRE(plan.split->together.has_value());
    const WayAndPull& first = plan.split->together->pairs.front();
    CHECK(plan.air->up == first.up);
    CHECK(plan.split->found.parting.pull == first.pull);
    CHECK(plan.split->together->pairs.size() ==
          plan.orientations->rows.size() * plan.split->found.search->rows.size());
    CHECK(std::is_sorted(
        plan.split->together->pairs.begin(), plan.split->together->pairs.end(),
        [](const WayAndPull& a, const WayAndPull& b) { return a.cost() < b.cost() - 0.011; }));
    request.air.up_given = true;
    request.air.up = Vec3::UnitX();
    request.split.pull = Vec3::UnitY();
    const Plan given = kept_plan(request, {.air = true, .orient = true, .split = true});
    REQUIRE(given.split->together->pairs.size() == 1);
    CHECK(given.air->up == Vec3::UnitX());
    CHECK(given.split->found.parting.pull == Vec3::UnitY());
    CHECK_FALSE(given.split->found.search.has_value());
}
