// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/holes.h"

#include <cmath>
#include <numbers>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/repair/arrangement.h"
#include "cavigram/repair/crossings.h"

#include "support/damage.h"
#include "support/near.h"

using namespace cavigram;

namespace {

// Checks that the truth lies in the range, and gives the error in shares of the truth.
double error_share(const HoleFilling& filling, double truth) {
    CHECK(adjacency(filling.mesh).closed());
    const double volume = mass_properties(filling.mesh).volume_mm3;
    double below = 0.0;
    double above = 0.0;
    for (const Patch& patch : filling.patches) {
        below += patch.volume_below_mm3;
        above += patch.volume_above_mm3;
    }
    INFO("truth ", truth, ", closed ", volume, ", below ", below, ", above ", above);
    CHECK(truth >= volume - below - 1e-9 * truth);
    CHECK(truth <= volume + above + 1e-9 * truth);
    return volume / truth - 1.0;
}

}  // namespace

TEST_CASE("a cube without one face is closed, and the range holds the cube") {
    const TriMesh cube = subdivided(box_solid(10, 10, 10).mesh, 3);
    const TriMesh open = damage::holed(cube, [](const Vec3& c) { return c.z() > 9.99; });
    const HoleFilling filling = fill_holes(open);
    REQUIRE(filling.patches.size() == 1);
    CHECK(filling.patches[0].kind == PatchKind::base);
    CHECK(std::abs(error_share(filling, 1000.0)) < 1e-12);
    CHECK_NEAR(filling.patches[0].area_mm2, 100.0, 1e-12);
    CHECK((filling.patches[0].center_mm - Vec3(5, 5, 10)).norm() < 1e-9);
}

TEST_CASE("a sphere without a cap: the faired patch bulges, the flat one would not") {
    const Solid sphere = sphere_solid(30, 96);
    // A cap of 30 degrees: smooth continuation is the truth.
    const TriMesh open =
        damage::holed(sphere.mesh, [](const Vec3& c) { return c.z() > 30 * std::cos(0.5236); });
    const HoleFilling filling = fill_holes(open);
    REQUIRE(filling.patches.size() == 1);
    CHECK(filling.patches[0].volume_change_mm3 > 0.0);
    // The cap itself is 1.4 % of the ball (h^2 (3R - h) / 4R^3 with h = R (1 - cos 30)).
    CHECK(std::abs(error_share(filling, sphere.volume_mm3)) < 0.003);
}

TEST_CASE("small holes, many at once, and a limit on their width") {
    const Solid torus = torus_solid(50, 15, 120);
    const TriMesh open = damage::holed(torus.mesh, [](const Vec3& c) {
        return (c - Vec3(65, 0, 0)).norm() < 4 || (c - Vec3(0, 35, 0)).norm() < 5 ||
               (c - Vec3(-50, 0, 15)).norm() < 6;
    });
    const HoleFilling filling = fill_holes(open);
    CHECK(filling.patches.size() == 3);
    CHECK(filling.left_open.empty());
    CHECK(std::abs(error_share(filling, torus.volume_mm3)) < 5e-4);

    const HoleFilling limited = fill_holes(open, {.largest_rim_diameter_mm = 10.5});
    CHECK(limited.left_open.size() == 1);
    CHECK_FALSE(adjacency(limited.mesh).closed());
}

TEST_CASE("one missing triangle comes back as itself") {
    TriMesh cube = box_solid(10, 10, 10).mesh;
    cube.triangles.erase(cube.triangles.begin() + 5);
    CHECK(std::abs(error_share(fill_holes(cube), 1000.0)) < 1e-12);
}

TEST_CASE("a fifth of a torus's outside is carried on, better than the faired patch alone") {
    const Solid torus = torus_solid(50, 18, 96);
    const TriMesh open =
        damage::holed(torus.mesh, [](const Vec3& c) { return (c - Vec3(68, 0, 0)).norm() < 30; });
    const HoleFilling carried = fill_holes(open, {.mirror = false});
    REQUIRE(carried.patches.size() == 1);
    CHECK(carried.patches[0].carried_on);
    CHECK(carried.patches[0].trial_mm3 >= 0.0);
    const double error = std::abs(error_share(carried, torus.volume_mm3));
    const HoleFilling faired = fill_holes(open, {.large = false});
    CHECK_FALSE(faired.patches[0].carried_on);
    CHECK(error < 0.5 * std::abs(mass_properties(faired.mesh).volume_mm3 / torus.volume_mm3 - 1.0));
}

TEST_CASE("the stump of a limb is known as one: only that more is missing") {
    // A rod of 10 mm out of a ball of 30 mm, cut off square where it is still a rod: wider than
    // flat-foot size it is not, so nothing tells how far it ran on.
    const TriMesh rod = cylinder_solid(10, 60, 96, 40).mesh;
    const TriMesh ball = sphere_solid(30, 128).mesh;
    const TriMesh both = joined(ball, rod);
    const Arrangement solid = arrange(both, std::vector<std::int32_t>(both.triangles.size(), 0));
    REQUIRE(solid.solved);
    const TriMesh open = damage::holed(solid.mesh, [](const Vec3& c) { return c.z() > 50.0; });
    const HoleFilling filling = fill_holes(open);
    REQUIRE(filling.patches.size() == 1);
    CHECK(filling.patches[0].limb);
    const HoleFilling cap = fill_holes(
        damage::holed(ball, [](const Vec3& c) { return c.z() > 30 * std::cos(0.5236); }));
    CHECK_FALSE(cap.patches[0].limb);
}

TEST_CASE("a lone triangle encloses nothing, and its range is the same in any unit") {
    // Closed by its own back. Whether it is left of a rib or of a hollow can't be told: the range
    // reaches a half ball over the triangle's area, 2/3 pi r^3, to either side.
    const double legs = 3.0;
    const TriMesh triangle{{Vec3(0, 0, 0), Vec3(legs, 0, 0), Vec3(0, legs, 0)}, {{0, 1, 2}}};
    const double radius = std::sqrt(0.5 * legs * legs / std::numbers::pi);
    const double half_ball = 2.0 / 3.0 * std::numbers::pi * radius * radius * radius;
    for (const double scale : {1.0, 10.0, 25.4, 1000.0}) {
        for (const double far : {0.0, 777.0}) {
            CAPTURE(scale);
            CAPTURE(far);
            const HoleFilling filling =
                fill_holes(transformed(triangle, scale, far * Vec3(0.3, -1, 0.7)));
            REQUIRE(filling.patches.size() == 1);
            const Patch& patch = filling.patches[0];
            CHECK_FALSE(patch.limb);
            CHECK(std::abs(patch.volume_change_mm3) < 1e-9 * scale * scale * scale);
            // A wide flat rim counts as a foot: 2 % of its diameter down, 3.5 % up.
            const double foot = 2.0 * std::numbers::pi * radius * radius * radius;
            const double scaled = scale * scale * scale;
            const bool is_foot = patch.kind == PatchKind::base;
            CHECK_NEAR(patch.volume_below_mm3, scaled * (is_foot ? 0.02 * foot : half_ball), 1e-6);
            CHECK_NEAR(patch.volume_above_mm3, scaled * (is_foot ? 0.035 * foot : half_ball), 1e-6);
        }
    }
}

TEST_CASE("a limb that is missing on one side of a mirrored part is copied from the other") {
    // A ball of 30 mm with a rod of 8 mm out of either side; one rod is cut off where it is still a
    // rod.
    const TriMesh ball = sphere_solid(30, 96).mesh;
    const TriMesh rod = transformed(cylinder_solid(8, 120, 48, 60).mesh, 1.0, Vec3(0, 0, -60));
    const TriMesh both = joined(ball, rod);
    const Arrangement solid = arrange(both, std::vector<std::int32_t>(both.triangles.size(), 0));
    REQUIRE(solid.solved);
    const double truth = mass_properties(solid.mesh).volume_mm3;
    const TriMesh open = damage::holed(solid.mesh, [](const Vec3& c) { return c.z() > 50.0; });
    const HoleFilling filling = fill_holes(open);
    REQUIRE(filling.patches.size() == 1);
    CHECK(filling.patches[0].kind == PatchKind::mirrored);
    CHECK_FALSE(filling.patches[0].limb);
    CHECK(filling.patches[0].agreeing_share >= 0.95);
    CHECK(filling.patches[0].taken_from_mm.z() < -30.0);
    CHECK(std::abs(error_share(filling, truth)) < 2e-3);
    CHECK(adjacency(filling.mesh).closed());
    CHECK(crossing_pairs(filling.mesh, adjacency(filling.mesh)).empty());

    const HoleFilling not_mirrored = fill_holes(open, {.mirror = false});
    REQUIRE(not_mirrored.patches.size() == 1);
    CHECK(not_mirrored.patches[0].kind != PatchKind::mirrored);
    CHECK(not_mirrored.patches[0].limb);
}

TEST_CASE("a part that is not its own mirror image gets no mirrored piece") {
    // Boxes of three sizes askew: nothing mirrors them. The hole is in the largest one's face.
    TriMesh part = subdivided(box_solid(60, 50, 40).mesh, 4);
    part =
        joined(part, transformed(subdivided(box_solid(17, 29, 43).mesh, 3), 1.0, Vec3(50, 5, 9)));
    part =
        joined(part, transformed(subdivided(box_solid(23, 13, 31).mesh, 3), 1.0, Vec3(8, 44, 25)));
    const Arrangement solid = arrange(part, std::vector<std::int32_t>(part.triangles.size(), 0));
    REQUIRE(solid.solved);
    const TriMesh open = damage::holed(solid.mesh, [](const Vec3& c) {
        return c.z() < 0.01 && (c - Vec3(25, 22, 0)).norm() < 14;
    });
    const HoleFilling filling = fill_holes(open);
    REQUIRE(filling.patches.size() == 1);
    CHECK(filling.patches[0].kind != PatchKind::mirrored);
}
