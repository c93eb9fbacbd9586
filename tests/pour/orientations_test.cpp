// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/orientations.h"

#include "cavigram/core/error.h"
#include "cavigram/geom/directions.h"
#include "cavigram/pour/way_scorer_detail.h"
#include "cavigram/venting/pockets.h"
#include "cavigram/venting/vents.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

OrientationOptions quick(double limit_mm3) {
    OrientationOptions options;
    options.directions = 200;
    options.limit_mm3 = limit_mm3;
    return options;
}

}  // namespace

TEST_CASE("a convex body keeps no air either way up") {
    const AirTreeBuilder ball(subdivided(box_solid(30, 20, 10).mesh, 2));
    const Orientations found = orientations(ball, quick(1.0));
    for (const ScannedWayUp& way : found.scanned) {
        CHECK(way.unvented_mm3 == 0.0);
    }
    const RankedWayUp& best = found.rows.front();
    CHECK(best.value.vents_needed == 0);
    CHECK(best.rank == 1);
    CHECK(best.pareto);
    CHECK_FALSE(best.reasons.empty());
}

// Closed form: of a U with arms of 10 and 7 (2 x 3 across, base 1), upright with the pour hole on
// the taller, the lower arm's 6 * 6 mm3 above the base stay; upside down nothing does.
TEST_CASE("a U is turned upside down; upright it needs one vent") {
    const AirTreeBuilder u(u_arms().mesh);
    OrientationOptions options = quick(1.0);
    options.lean_deg = 0.0;
    options.asked = Vec3(0, 0, 2);
    const WayUp upright = way_up(u, Vec3::UnitZ(), options);
    CHECK_NEAR(upright.unvented_mm3, 36.0, 1e-12);
    CHECK(upright.vents_needed == 1);
    CHECK(upright.vented_mm3 == 0.0);
    CHECK_NEAR(upright.height_mm, 10.0, 1e-12);
    CHECK(way_up(u, -Vec3::UnitZ(), options).unvented_mm3 == 0.0);

    const Orientations found = orientations(u, options);
    CHECK(found.rows.front().value.unvented_mm3 <= 1.0);
    CHECK(found.rows.front().value.vents_needed == 0);
    std::size_t asked = 0;
    for (const RankedWayUp& row : found.rows) {
        if (row.asked) {
            ++asked;
            CHECK_NEAR(row.value.unvented_mm3, 36.0, 1e-12);
            CHECK(row.rank > 1);
            CHECK(row.value.up == Vec3::UnitZ());
        }
    }
    CHECK(asked == 1);
}

TEST_CASE("values are those of the air tree; the lean is the worst of eight sides") {
    const AirTreeBuilder solid(bumpy_ball(40, 3, 5.0, 0.15, 0.0, 3));
    OrientationOptions options = quick(20.0);
    options.most_vents = 2;
    for (const Vec3& up : sphere_directions(7)) {
        const AirTree tree = solid.build(up);
        const WayUp way = way_up(solid, up, options);
        VentOptions all;
        all.min_gain_mm3 = 0.0;
        const VentPlan plan = vent_plan(solid, tree, all);
        CHECK_NEAR(way.unvented_mm3, air_pockets(solid, tree).unvented.total_mm3, 1e-9);
        CHECK(way.vents_made <= 2);
        CHECK(way.worst_vented_mm3 >= way.vented_mm3);
        CHECK(way.vented_mm3 <= way.unvented_mm3);
        if (way.vents_needed <= 2) {
            CHECK(way.vented_mm3 <= 20.0);
        }
        // With the holes where they are, each lean by itself.
        Openings made;
        made.pour_holes_mm.push_back(plan.openings.front().place_mm);
        for (std::size_t i = 0; i < way.vents_made; ++i) {
            made.vents_mm.push_back(plan.vents[i].place_mm);
        }
        const double one =
            air_pockets(
                solid,
                solid.build(Eigen::AngleAxisd(3.0 / 57.29577951308232, frame_along(up).y) * up),
                made)
                .vented.total_mm3;
        CHECK(one <= way.worst_vented_mm3 * (1 + 1e-6) + 1e-6);
    }
}

// Against the whole look, which is the simple version.
TEST_CASE("what is not looked at to the end can't win, and what wins is the same") {
    const AirTreeBuilder u(u_arms().mesh);
    const OrientationOptions options = quick(1.0);
    detail::WayScorer scorer(u, options, 1.0, Vec3::Zero());
    std::size_t ruled_out = 0;
    std::size_t won = 0;
    int first = 0;
    for (const Vec3& up : sphere_directions(100)) {
        const WayUp whole = scorer.full(up);
        for (const double least : {0.5, 1.0, 2.0}) {
            const double limit = least * whole.worst_vented_mm3;
            const auto may_win = [&](const WayUp& way) { return way.worst_vented_mm3 < limit; };
            const WayUp way = scorer.full_if(up, first, may_win);
            REQUIRE(may_win(way) == may_win(whole));
            CHECK(first >= 0);
            CHECK(first < detail::kSides);
            CHECK(way.worst_vented_mm3 <= whole.worst_vented_mm3);
            if (may_win(whole)) {
                ++won;
                CHECK(way.worst_vented_mm3 == whole.worst_vented_mm3);
                CHECK(way.footing.block_mm2 == whole.footing.block_mm2);
            } else {
                ruled_out += way.footing.block_mm2 == 0.0 ? 1 : 0;
            }
        }
    }
    CHECK(won > 10);
    CHECK(ruled_out > 10);
}

TEST_CASE("a turned part gets the turned answer") {
    const TriMesh mesh = u_arms().mesh;
    OrientationOptions options = quick(1.0);
    options.lean_deg = 1.0;
    const Mat3 turn = some_rotation(5);
    const AirTreeBuilder one(mesh);
    const AirTreeBuilder two(rotated(mesh, turn));
    for (const Vec3& up : sphere_directions(20)) {
        CHECK(way_up(two, turn * up, options).unvented_mm3 ==
              doctest::Approx(way_up(one, up, options).unvented_mm3).epsilon(1e-6));
    }
    const WayUp first = orientations(one, options).rows.front().value;
    const WayUp second = orientations(two, options).rows.front().value;
    CHECK(first.vents_needed == second.vents_needed);
    CHECK(std::abs(first.height_mm - second.height_mm) <= 1.0);
    CHECK(std::abs(first.worst_vented_mm3 - second.worst_vented_mm3) <= 1.0);
}

TEST_CASE("no hole on the show side where it can be had") {
    const AirTreeBuilder box(box_solid(30, 30, 30).mesh);
    OrientationOptions options = quick(100.0);
    options.lean_deg = 0.0;
    options.show = ShowSide{.toward = Vec3::UnitX()};
    options.asked = Vec3::UnitX();
    CHECK(way_up(box, Vec3::UnitX(), options).holes_on_show == 1);
    CHECK(way_up(box, -Vec3::UnitX(), options).holes_on_show == 0);
    const Orientations found = orientations(box, options);
    CHECK(found.rows.front().value.holes_on_show == 0);
    CHECK(found.rows.back().asked);
}

TEST_CASE("1, 2 and 5 threads give the same answer") {
    const AirTreeBuilder solid(bumpy_ball(40, 4, 5.0, 0.15, 0.002, 3));
    OrientationOptions options = quick(20.0);
    options.proxy_triangles = 1000;
    Orientations first;
    for (const int threads : {1, 2, 5}) {
        RunContext context;
        context.threads = threads;
        const Orientations found = orientations(solid, options, context);
        CHECK(found.proxy_triangles <= 1000);
        if (threads == 1) {
            first = found;
            continue;
        }
        REQUIRE(found.rows.size() == first.rows.size());
        for (std::size_t i = 0; i < found.rows.size(); ++i) {
            CHECK(found.rows[i].value.up == first.rows[i].value.up);
            CHECK(found.rows[i].value.worst_vented_mm3 == first.rows[i].value.worst_vented_mm3);
            CHECK(found.rows[i].reasons == first.rows[i].reasons);
        }
        for (std::size_t i = 0; i < found.scanned.size(); ++i) {
            CHECK(found.scanned[i].vented_mm3 == first.scanned[i].vented_mm3);
        }
    }
}

TEST_CASE("a stand-in that was made before gives the same answer") {
    const AirTreeBuilder solid(bumpy_ball(40, 4, 5.0, 0.15, 0.002, 3));
    OrientationOptions options = quick(20.0);
    options.proxy_triangles = 1000;
    const FoundWays own = find_ways(solid, options);
    const FoundWays given = find_ways(
        solid, decimated_proxy(solid.mesh(), solid.bvh(), {.triangles = 1000}), options, {});
    CHECK(given.proxy_deviation_mm == own.proxy_deviation_mm);
    REQUIRE(given.ways.size() == own.ways.size());
    for (std::size_t i = 0; i < own.ways.size(); ++i) {
        CHECK(given.ways[i].up == own.ways[i].up);
        CHECK(given.ways[i].worst_vented_mm3 == own.ways[i].worst_vented_mm3);
    }
}

TEST_CASE("wrong options are refused in words") {
    const AirTreeBuilder box(box_solid(1, 1, 1).mesh);
    OrientationOptions options = quick(1.0);
    options.asked = Vec3::Zero();
    CHECK_THROWS_AS(static_cast<void>(orientations(box, options)), InvalidInput);
    options = quick(0.0);
    CHECK_THROWS_AS(static_cast<void>(orientations(box, options)), InvalidInput);
    options = quick(1.0);
    options.finalists = 20;
    CHECK_THROWS_AS(static_cast<void>(orientations(box, options)), InvalidInput);
}

// A box of 30 x 20 x 10 keeps no air, so any weight shows alone: it lies flat for height, stands
// for footprint.
TEST_CASE("the user's own weights decide") {
    const AirTreeBuilder box(subdivided(box_solid(30, 20, 10).mesh, 2));
    OrientationOptions options = quick(1.0);
    const auto best = [&](const char* weights) {
        options.weights = parse_way_weights(weights, "--weights");
        return orientations(box, options);
    };
    const Orientations low = best("height=1");
    CHECK_NEAR(low.rows.front().value.height_mm, 10.0, 1e-9);
    CHECK(low.rows.front().score == 0.0);
    CHECK(low.rows.front().reasons.front().find("your weights") != std::string::npos);
    const Orientations small = best("footprint=1");
    CHECK_NEAR(small.rows.front().value.footing.block_mm2, 200.0, 1e-9);
    CHECK_NEAR(small.rows.front().value.height_mm, 30.0, 1e-9);
    CHECK(small.rows.front().value.footing.stands());
    for (const Orientations& found : {low, small, best("air=1,height=1,path=2")}) {
        for (std::size_t i = 1; i < found.rows.size(); ++i) {
            CHECK(found.rows[i].score >= found.rows[i - 1].score);
        }
        for (const RankedWayUp& row : found.rows) {
            CHECK(row.score >= 0.0);
            CHECK(row.score <= 1.0 + 1e-12);
            CHECK(row.path_mm >= row.value.height_mm * 0.5);
        }
    }
}

TEST_CASE("a box as the show side counts the holes in it") {
    const AirTreeBuilder box(subdivided(box_solid(30, 20, 10).mesh, 2));
    OrientationOptions options = quick(1.0);
    options.show = ShowSide{.box_mm = Box3{Vec3(-1, -1, 9), Vec3(31, 21, 11)}};
    CHECK(way_up(box, Vec3::UnitZ(), options).holes_on_show == 1);
    CHECK(way_up(box, -Vec3::UnitZ(), options).holes_on_show == 0);
    options.show = ShowSide{};
    CHECK_THROWS_AS(static_cast<void>(way_up(box, Vec3::UnitZ(), options)), InvalidInput);
}

// The U of above with its 108 mm3: without a hole that lets air out, one vent more is needed.
TEST_CASE("where the pour hole lets no air out each way up needs one vent more") {
    const AirTreeBuilder u(u_arms().mesh);
    OrientationOptions options = quick(1.0);
    options.lean_deg = 0.0;
    for (const PourHoleAfter after : {PourHoleAfter::plugged, PourHoleAfter::none}) {
        options.pour_hole_after = after;
        const WayUp upright = way_up(u, Vec3::UnitZ(), options);
        CHECK_NEAR(upright.unvented_mm3, 108.0, 1e-12);
        CHECK(upright.vents_needed == 2);
        CHECK(std::abs(upright.vented_mm3) < 1e-12);
        CHECK(std::abs(upright.worst_vented_mm3) < 1e-12);
        const WayUp down = way_up(u, -Vec3::UnitZ(), options);
        CHECK(down.vents_needed == 1);
        CHECK(std::abs(down.vented_mm3) < 1e-12);
        // One vent allowed: the lower arm's 36 mm3 stay.
        OrientationOptions one = options;
        one.most_vents = 1;
        CHECK_NEAR(way_up(u, Vec3::UnitZ(), one).vented_mm3, 36.0, 1e-12);

        const Orientations found = orientations(u, options);
        CHECK(found.pour_hole_after == after);
        CHECK(found.rows.front().value.vents_needed == 1);
        for (const RankedWayUp& row : found.rows) {
            CHECK(row.value.vents_needed >= 1);
            CHECK((row.path_mm > 0.0) == (after == PourHoleAfter::plugged));
        }
    }
}

TEST_CASE("what stays drilled counts on the show side; a hole that is not there does not") {
    const AirTreeBuilder box(box_solid(30, 30, 30).mesh);
    OrientationOptions options = quick(100.0);
    options.lean_deg = 0.0;
    options.show = ShowSide{.toward = Vec3::UnitX()};
    options.pour_hole_after = PourHoleAfter::plugged;
    CHECK(way_up(box, Vec3::UnitX(), options).holes_on_show == 2);  // the hole and the vent
    options.pour_hole_after = PourHoleAfter::none;
    CHECK(way_up(box, Vec3::UnitX(), options).holes_on_show == 1);
    CHECK(way_up(box, -Vec3::UnitX(), options).holes_on_show == 0);
    options.weights = parse_way_weights("air=1,path=1", "--weights");
    CHECK_THROWS_AS(static_cast<void>(orientations(box, options)), InvalidInput);
}
