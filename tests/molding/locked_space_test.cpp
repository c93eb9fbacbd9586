// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/locked_space.h"

#include <cmath>
#include <numbers>
#include <random>

#include "cavigram/spatial/triangle_bvh.h"

#include "molding/shapes.h"
#include "support/near.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

LockedSpace locked(const TriMesh& mesh, const Vec3& pull, int across = 192) {
    return locked_space(cut_columns(mesh, pull, {.across = across}));
}

const Vec3 kUp = Vec3::UnitZ();

}  // namespace

TEST_CASE("a ball, a cone and a lying ring lock nothing") {
    const TriMesh ball = sphere_solid(30, 96).mesh;
    const TriMesh cone = cone_solid(30, 90, 96).mesh;
    for (const Vec3& pull : sphere_directions(60)) {
        CHECK(locked(ball, pull, 96).volume_mm3 == 0.0);
        CHECK(locked(cone, pull, 96).volume_mm3 == 0.0);  // convex
    }
    const LockedSpace ring = locked(torus_solid(30, 10, 128).mesh, kUp);
    CHECK(ring.volume_mm3 == 0.0);
    CHECK(ring.pockets.empty());
    CHECK(locked(mushroom(128).mesh, kUp).volume_mm3 == 0.0);
}

// Pulled across its axis a ring locks the disc within each of its sections: the integral of
// pi (R - sqrt(r2 - y2))2 over y from -r to r is pi (2 R2 r - pi R r2 + 4 r3 / 3).
TEST_CASE("an upright ring locks its hole") {
    const double ring = 30;
    const double tube = 10;
    const double exact =
        std::numbers::pi * (2 * ring * ring * tube - std::numbers::pi * ring * tube * tube +
                            4 * tube * tube * tube / 3);
    CHECK_NEAR(exact, 31128.0, 1e-4);
    const LockedSpace space = locked(torus_solid(ring, tube, 256).mesh, Vec3::UnitX());
    CHECK_NEAR(space.volume_mm3, exact, 0.005);
    REQUIRE(space.pockets.size() == 1);
    CHECK(space.pockets[0].opens_to == OpensTo::both);
    CHECK_NEAR(gap_volume_mm3(
                   cut_columns(torus_solid(ring, tube, 256).mesh, Vec3::UnitX(), {.across = 192})),
               space.volume_mm3, 1e-12);
    // No farther than the inner half thickness of the tube: halfway the hole is free to both sides.
    CHECK_NEAR(space.pockets[0].lateral_mm, 10.0, 0.05);
}

TEST_CASE("the neck of a dumbbell") {
    for (const Vec3& pull : {kUp, Vec3(-kUp)}) {
        const LockedSpace space = locked(dumbbell(256).mesh, pull);
        CHECK_NEAR(space.volume_mm3,
                   polygon_share(256) * std::numbers::pi * (30 * 30 - 20 * 20) * 20, 0.01);
        REQUIRE(space.pockets.size() == 1);
        const LockedPocket& neck = space.pockets[0];
        CHECK_NEAR(neck.depth_mm(), 20.0, 1e-9);
        CHECK_NEAR(neck.lateral_mm, 10.0, 0.06);
        CHECK_NEAR(neck.entry_mm, 20.0, 1e-9);
        CHECK(neck.opens_to == OpensTo::both);
        CHECK_NEAR(neck.at_mm.head<2>().norm(), 20.0, 0.03);
        CHECK(neck.extent_mm.min().z() == doctest::Approx(20.0));
        CHECK(neck.extent_mm.max().z() == doctest::Approx(40.0));
    }
    // Across its axis both halves come off.
    CHECK(locked(dumbbell(256).mesh, Vec3::UnitX()).volume_mm3 < 2.0);
}

TEST_CASE("slots hold what lies beside their mouth, for the half above") {
    // Two wedges 4 wide below and 10 high.
    const LockedSpace wedge = locked(dovetail(16, 24), kUp);
    CHECK_NEAR(wedge.volume_mm3, 2 * 0.5 * 4 * 10 * 40, 0.02);
    REQUIRE(wedge.pockets.size() == 2);
    CHECK(wedge.pockets[0].opens_to == OpensTo::above);
    CHECK_NEAR(wedge.pockets[0].lateral_mm, 4.0, 0.12);
    CHECK_NEAR(wedge.pockets[0].depth_mm(), 10.0, 0.06);
    const LockedSpace upside_down = locked(dovetail(16, 24), -kUp);
    CHECK_NEAR(upside_down.volume_mm3, wedge.volume_mm3, 1e-9);
    CHECK(upside_down.pockets[0].opens_to == OpensTo::below);
    // Two wings 8 wide and 6 high.
    const LockedSpace t = locked(t_slot(), kUp);
    CHECK_NEAR(t.volume_mm3, 2 * 8 * 6 * 40, 0.02);
    REQUIRE(t.pockets.size() == 2);
    CHECK_NEAR(t.pockets[0].lateral_mm, 8.0, 0.04);
    CHECK_NEAR(t.pockets[0].entry_mm, 6.0, 1e-9);
    // Along the slot nothing is caught.
    CHECK(locked(t_slot(), Vec3::UnitY()).volume_mm3 == 0.0);
}

TEST_CASE("a ring groove and a barrel-shaped hole") {
    const LockedSpace groove = locked(ring_groove(256).mesh, kUp);
    CHECK_NEAR(groove.volume_mm3, polygon_share(256) * std::numbers::pi * (20 * 20 - 18 * 18) * 10,
               0.02);
    // Two frustums less the cylinder of their mouths: 2 pi 20 / 3 (R2 + R r + r2) - pi r2 40.
    const LockedSpace barrel = locked(barrel_hole(256).mesh, kUp);
    const double frustums = 2 * std::numbers::pi * 20 / 3 * (16 * 16 + 16 * 10 + 10 * 10);
    CHECK_NEAR(barrel.volume_mm3, polygon_share(256) * (frustums - std::numbers::pi * 100 * 40),
               0.02);
    REQUIRE(barrel.pockets.size() == 1);
    CHECK(barrel.pockets[0].opens_to == OpensTo::both);
    CHECK_NEAR(barrel.pockets[0].lateral_mm, 6.0, 0.15);
}

TEST_CASE("a closed hollow is reached by no mold") {
    const LockedSpace space = locked(stalagmite().mesh, kUp, 80);
    CHECK(space.volume_mm3 == 0.0);
    CHECK(space.closed == 1);
    CHECK_NEAR(space.closed_mm3, 6 * 6 * 8 - 2 * 2 * 6, 1e-9);
}

TEST_CASE("as a glove a mold is caught below the cap as well") {
    const ColumnCut cut = cut_columns(mushroom(256).mesh, kUp, {.across = 192});
    const LockedSpace glove = locked_space(cut, {.one_piece = true});
    CHECK_NEAR(glove.volume_mm3, polygon_share(256) * std::numbers::pi * (30 * 30 - 20 * 20) * 30,
               0.01);
    REQUIRE(glove.pockets.size() == 1);
    CHECK(glove.pockets[0].opens_to == OpensTo::above);
    CHECK_NEAR(glove.pockets[0].lateral_mm, 10.0, 0.06);
    // Upside down it slips off.
    CHECK(locked_space(cut_columns(mushroom(256).mesh, -kUp, {.across = 192}), {.one_piece = true})
              .volume_mm3 == 0.0);
}

// A place is locked if it lies outside the part and the part is met above it and below it.
TEST_CASE("random places of random blocks and of a turned dumbbell, against rays") {
    std::mt19937 random(5);
    std::vector<TriMesh> meshes = {rotated(dumbbell(48).mesh, some_rotation(3))};
    for (int round = 0; round < 4; ++round) {
        meshes.push_back(
            rotated(blocks(5, 4, 4, [&](int, int, int) { return random() % 2 == 0; }).mesh,
                    some_rotation(static_cast<std::uint32_t>(round) + 7)));
    }
    for (const TriMesh& mesh : meshes) {
        const TriangleBvh surface(mesh);
        const Vec3 pull(0.2, -0.4, 1.0);
        const ColumnCut cut = cut_columns(mesh, pull, {.across = 64});
        const LockedSpace space = locked_space(cut);
        const Box3 box = bounds(mesh);
        std::uniform_real_distribution<double> height(-1.0, 1.0);
        int caught = 0;
        for (int i = 0; i < 4000; ++i) {
            const int x = static_cast<int>(random() % static_cast<unsigned>(cut.count_x));
            const int y = static_cast<int>(random() % static_cast<unsigned>(cut.count_y));
            const double z =
                cut.frame.z.dot(box.center()) + 0.5 * height(random) * box.diagonal().norm();
            const Vec3 p = cut.place_mm(x, y, z);
            const bool by_rays = !surface.inside(p) &&
                                 surface.first_hit(p, cut.frame.z).triangle >= 0 &&
                                 surface.first_hit(p, -cut.frame.z).triangle >= 0;
            bool by_columns = false;
            for (const LockedGap& gap : space.gaps) {
                by_columns = by_columns || (gap.column == x + y * cut.count_x && gap.from_mm < z &&
                                            z < gap.to_mm);
            }
            CHECK(by_rays == by_columns);
            caught += by_rays ? 1 : 0;
        }
        CHECK(caught > 5);
    }
}

TEST_CASE("what can't be asked") {
    CHECK(refusal_of([] { return locked_space(ColumnCut{}, {.levels = 0}); }) ==
          "Locked space is measured at one level or more.");
    CHECK(locked_space(ColumnCut{}).pockets.empty());
    CHECK(std::string(to_text(OpensTo::both)) == "both");
    CHECK(std::string(to_text(OpensTo::nowhere)) == "nowhere");
}
