// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/necks.h"

#include "cavigram/core/error.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

// Towers of 5 x 5, 20 and 12 high, on a base of 5, and a neck of `wide` x `wide` between them just
// under the lower one's top.
Solid necked(int wide) {
    return blocks(13, 5, 20, [wide](int x, int y, int z) {
        const bool neck = x >= 5 && x < 8 && y >= 1 && y < 1 + wide && z < 12 && z >= 12 - wide;
        return z < 5 || x < 5 || (x >= 8 && z < 12) || neck;
    });
}

NarrowNecks necks_of(const TriMesh& mesh, const Vec3& up, const NeckOptions& options) {
    const AirTreeBuilder solid(mesh);
    const AirPockets pockets = air_pockets(solid, solid.build(up));
    return narrow_necks(mesh, solid.bvh(), up, pockets.openings, options);
}

}  // namespace

// By counting: through the neck all air of the lower tower gets out; without it the 5 x 5 x 7 above
// the base stay, and no more than the neck's own cubes with them.
TEST_CASE("a closed neck keeps the air of the tower behind it") {
    const TriMesh mesh = necked(1).mesh;
    const NarrowNecks closed = necks_of(mesh, Vec3::UnitZ(), {.width_mm = 2.0, .columns = 65});
    CHECK(closed.open_mm3 < 1e-9);
    CHECK(closed.closed_mm3 >= 175.0 - 1e-9);
    CHECK(closed.closed_mm3 <= 178.0 + 1e-9);
    REQUIRE(closed.held_back.size() == 1);
    CHECK(closed.held_back[0].peak_mm.x() > 8.0 - 1e-9);
    CHECK_NEAR(closed.held_back[0].peak_mm.z(), 12.0, 1e-12);
    CHECK(closed.spacing_mm == doctest::Approx(0.2));
    // The same neck is open where narrower ones are closed, and a wider one at the same width.
    CHECK(necks_of(mesh, Vec3::UnitZ(), {.width_mm = 0.4, .columns = 65}).more_mm3() < 1e-9);
    // Columns that run just along the edge of what is deep are cut by rounding: 1e-5 of the pocket.
    const NarrowNecks wide =
        necks_of(necked(3).mesh, Vec3::UnitZ(), {.width_mm = 2.0, .columns = 65});
    CHECK(wide.more_mm3() < 1e-5 * 175.0);
}

TEST_CASE("a neck that runs upright closes too") {
    // Two chambers one above the other, a neck of 1 x 1 between them, a side arm higher than both
    // with the pour hole.
    const Solid solid = blocks(12, 5, 16, [](int x, int y, int z) {
        const bool arm = x >= 7;
        const bool chamber = x < 5 && (z < 5 || (z >= 7 && z < 14));
        const bool neck = x == 2 && y == 2 && z >= 5 && z < 7;
        const bool link = z < 5;
        return arm || chamber || neck || link;
    });
    const NarrowNecks found = necks_of(solid.mesh, Vec3::UnitZ(), {.width_mm = 2.0, .columns = 60});
    // The upper chamber keeps its 5 x 5 x 7 either way (it has no vent), with the neck's 2 below
    // it: a closed neck adds at most those.
    CHECK(found.open_mm3 >= 175.0 - 1e-9);
    CHECK(found.more_mm3() >= -1e-9);
    CHECK(found.more_mm3() <= 2.0 + 1e-9);
}

TEST_CASE("no neck, no difference; and closing never lets air out") {
    const Solid ball = sphere_solid(30, 48);
    for (const Vec3& up : sphere_directions(4)) {
        const NarrowNecks found = necks_of(ball.mesh, up, {.width_mm = 3.0, .columns = 48});
        CHECK(found.open_mm3 < 1e-4 * ball.volume_mm3);
        CHECK(found.more_mm3() < 1e-4 * ball.volume_mm3);
        CHECK(found.only_narrow_mm3 == 0.0);
    }
    for (std::uint32_t seed = 0; seed < 4; ++seed) {
        const TriMesh mesh = bumpy_ball(50, 4, 5, 0.45, 0.004, seed);
        const AirTreeBuilder solid(mesh);
        for (const Vec3& up : sphere_directions(4)) {
            const AirTree tree = solid.build(up);
            const AirPockets exact = air_pockets(solid, tree);
            for (const double width : {1.0, 6.0, 20.0}) {
                const NarrowNecks found = narrow_necks(mesh, solid.bvh(), up, exact.openings,
                                                       {.width_mm = width, .columns = 96});
                CHECK(found.more_mm3() >= -1e-9 * tree.volume_mm3);
                // The run with open necks is the pockets' own total, to the columns' error.
                CHECK(std::abs(found.open_mm3 - exact.unvented.total_mm3) <
                      0.004 * tree.volume_mm3);
            }
        }
    }
}

TEST_CASE("a part that is narrow everywhere is told as such; the same bytes on any threads") {
    const Solid plate = box_solid(40, 30, 1);
    const NarrowNecks thin = necks_of(plate.mesh, Vec3::UnitX(), {.width_mm = 3.0, .columns = 80});
    // 80 columns along 30 mm are 0.375 mm apart, and three of them fit into 1 mm: they stand for
    // 1.125 mm.
    CHECK_NEAR(thin.only_narrow_mm3, 40.0 * 30.0 * 1.125, 1e-9);
    CHECK(thin.more_mm3() < 1e-9);
    const TriMesh mesh = bumpy_ball(50, 4, 5, 0.45, 0.004, 3);
    const AirTreeBuilder solid(mesh);
    const AirPockets pockets = air_pockets(solid, solid.build(Vec3(1, 2, 3)));
    const auto run = [&](int threads) {
        RunContext context;
        context.threads = threads;
        return narrow_necks(mesh, solid.bvh(), Vec3(1, 2, 3), pockets.openings, {.width_mm = 8.0},
                            context);
    };
    const NarrowNecks one = run(1);
    for (const int threads : {2, 5}) {
        const NarrowNecks other = run(threads);
        CHECK(other.open_mm3 == one.open_mm3);
        CHECK(other.closed_mm3 == one.closed_mm3);
        REQUIRE(other.held_back.size() == one.held_back.size());
        for (std::size_t i = 0; i < one.held_back.size(); ++i) {
            CHECK(other.held_back[i].peak_mm == one.held_back[i].peak_mm);
            CHECK(other.held_back[i].volume_mm3 == one.held_back[i].volume_mm3);
        }
    }
    CHECK_THROWS_AS(static_cast<void>(necks_of(plate.mesh, Vec3::UnitX(), {.width_mm = 0.0})),
                    InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(necks_of(plate.mesh, Vec3::UnitX(), {.columns = 1})),
                    InvalidInput);
}

TEST_CASE("a plugged pour hole lets no air through the necks either") {
    const AirTreeBuilder solid(two_towers().mesh);
    const AirTree tree = solid.build(Vec3::UnitZ());
    const NeckOptions options{.width_mm = 0.1, .columns = 48};
    const auto left = [&](const Openings& openings) {
        const std::vector<Opening> placed = placed_openings(solid, tree, openings);
        return narrow_necks(solid.mesh(), solid.bvh(), Vec3::UnitZ(), placed, options).open_mm3;
    };
    // By counting, 3 + 4 + 3 mm3: all of it, or the lower tower's.
    CHECK(std::abs(left({{}, {}, PourHoleAfter::vented}) - 3.0) < 0.05);
    CHECK(std::abs(left({{}, {}, PourHoleAfter::plugged}) - 10.0) < 0.05);
    CHECK(std::abs(left({{}, {Vec3(0.5, 0.5, 5)}, PourHoleAfter::none}) - 3.0) < 0.05);
}
