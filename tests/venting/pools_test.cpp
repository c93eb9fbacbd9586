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
