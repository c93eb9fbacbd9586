// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/pools.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

const PoolOptions kAll{.min_volume_mm3 = 0.0};

Pools pools_of(const TriMesh& mesh, const PoolOptions& options = kAll) {
    const AirTreeBuilder solid(mesh);
    return pools(solid, solid.build(-Vec3::UnitZ()), options);
}

}  // namespace

TEST_CASE("an arch on unequal feet has two pools and one sill") {
    // Feet of 4 and 2 below a beam of 1, each 1 x 1: the short one holds 2 before it spills over
    // the beam's underside at z = 4.
    const Solid arch =
        blocks(3, 1, 5, [](int x, int, int z) { return z == 4 || x == 0 || (x == 2 && z >= 2); });
    const Pools found = pools_of(arch.mesh);
    REQUIRE(found.pools.size() == 2);
    const Pool& whole = found.pools[0];
    CHECK(whole.parent == -1);
    CHECK_NEAR(whole.volume_mm3, arch.volume_mm3, 1e-12);
    CHECK(whole.floor_height_mm == 0.0);
    CHECK(whole.spill_height_mm == 5.0);
    CHECK((whole.floor_mm - Vec3(0.5, 0.5, 0)).norm() < 1e-14);
    const Pool& foot = found.pools[1];
    CHECK(foot.parent == 0);
    CHECK_NEAR(foot.volume_mm3, 2.0, 1e-12);
    CHECK(foot.floor_height_mm == 2.0);
    CHECK(foot.spill_height_mm == 4.0);
    CHECK(foot.depth_mm == 2.0);
    CHECK((foot.floor_mm - Vec3(2.5, 0.5, 2)).norm() < 1e-14);
    CHECK_FALSE(foot.entry_height_mm.has_value());
}

TEST_CASE("liquid must stand as high as the lowest sill on the way") {
    // Three feet 6, 6 and 6 deep joined by low beams: sill 2 between the first two, sill 4 to the
    // third.
    const Solid feet = blocks(5, 1, 6, [](int x, int, int z) {
        return x % 2 == 0 || (x == 1 && z >= 2) || (x == 3 && z >= 4);
    });
    PoolOptions options = kAll;
    options.pour_place_mm = Vec3(0.5, 0.5, 0);
    const Pools found = pools_of(feet.mesh, options);
    REQUIRE(found.pools.size() == 3);
    for (const Pool& pool : found.pools) {
        // By hand: from the first foot the middle one is reached over 2, the last over 4.
        if (pool.floor_mm.x() < 1.0) {
            CHECK_FALSE(pool.entry_height_mm.has_value());
        } else if (pool.depth_mm < 6.0) {
            REQUIRE(pool.entry_height_mm.has_value());
            CHECK(*pool.entry_height_mm == (pool.floor_mm.x() < 3.0 ? 2.0 : 4.0));
            CHECK(pool.spill_height_mm == *pool.entry_height_mm);
        }
    }
    // From the last foot both others are reached over 4, though the sill between them is at 2.
    options.pour_place_mm = Vec3(4.5, 0.5, 0);
    int over_four = 0;
    for (const Pool& pool : pools_of(feet.mesh, options).pools) {
        over_four += pool.entry_height_mm && *pool.entry_height_mm == 4.0 ? 1 : 0;
    }
    CHECK(over_four >= 1);
}

TEST_CASE("small pools are counted") {
    const Solid arch =
        blocks(3, 1, 5, [](int x, int, int z) { return z == 4 || x == 0 || (x == 2 && z >= 2); });
    const Pools few = pools_of(arch.mesh, {.min_volume_mm3 = 2.5});
    CHECK(few.pools.size() == 1);
    CHECK(few.hidden_count == 1);
    // A bowl right way up gathers in one place.
    CHECK(pools_of(bowl(30, 24, 24).mesh).pools.size() == 1);
}

// By counting cubes: three feet joined by beams with sills at 2 and 4.
TEST_CASE("liquid fills its own basin, runs over, and stands where it must") {
    const Solid feet = blocks(5, 1, 6, [](int x, int, int z) {
        return x % 2 == 0 || (x == 1 && z >= 2) || (x == 3 && z >= 4);
    });
    struct Case {
        double liquid;
        double level;
        bool second;
        bool third;
    };
    // The first foot holds 2 to its sill, the second 2 more; from there three columns rise together
    // to the sill at 4, which takes 6; the third foot holds 4; then all five rise.
    for (const Case& c :
         {Case{0.0, 0.0, false, false}, Case{1.5, 1.5, false, false}, Case{3.0, 2.0, true, false},
          Case{5.5, 2.5, true, false}, Case{10.0, 4.0, true, false}, Case{12.0, 4.0, true, true},
          Case{16.5, 4.5, true, true}, Case{24.0, 6.0, true, true}}) {
        CAPTURE(c.liquid);
        PoolOptions options = kAll;
        options.pour_place_mm = Vec3(0.5, 0.5, 0);
        options.liquid_mm3 = c.liquid;
        const Pools found = pools_of(feet.mesh, options);
        REQUIRE(found.level_height_mm.has_value());
        CHECK(std::abs(*found.level_height_mm - c.level) < 1e-9);
        int told = 0;
        for (const Pool& pool : found.pools) {
            if (pool.floor_mm.x() > 2.0 && pool.floor_mm.x() < 3.0 && pool.entry_height_mm) {
                CHECK_NEAR(pool.entry_mm3, 2.0, 1e-12);
                CHECK(pool.reached == c.second);
                ++told;
            } else if (pool.floor_mm.x() > 4.0) {
                CHECK_NEAR(pool.entry_mm3, 10.0, 1e-12);
                CHECK(pool.reached == c.third);
                ++told;
            }
        }
        CHECK(told == 2);
    }
}

TEST_CASE("a stream lands straight under its hole") {
    const AirTreeBuilder solid(two_towers().mesh);
    CHECK((landing_mm(solid, Vec3::UnitZ(), Vec3(0.5, 0.5, 5)) - Vec3(0.5, 0.5, 0)).norm() < 1e-12);
    // From a hole in a side wall: down along that wall.
    const Vec3 side = landing_mm(solid, Vec3::UnitZ(), Vec3(0, 0.5, 3));
    CHECK(std::abs(side.z()) < 1e-12);
    CHECK(side.x() < 0.01);
    // From one underneath there is nowhere to fall.
    CHECK(landing_mm(solid, Vec3::UnitZ(), Vec3(1.5, 0.5, 0)).z() == 0.0);
}
