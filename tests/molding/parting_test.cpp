// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/parting.h"

#include <cmath>
#include <numbers>

#include "cavigram/measure/mass_properties.h"

#include "molding/shapes.h"
#include "support/near.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

Parting parted(const TriMesh& mesh, const Vec3& pull, const PartingOptions& options = {}) {
    const PartingSurface surface = parting_surface(mesh);
    return parting(surface, TriangleBvh(surface.mesh_mm), pull, options);
}

const Vec3 kUp = Vec3::UnitZ();

}  // namespace

// Along the edges of its faces the line around a ball zigzags; smoothed it is a great circle.
TEST_CASE("a ball is parted along a great circle, whichever way it is pulled") {
    const TriMesh ball = rotated(sphere_solid(30, 96).mesh, some_rotation(4));
    for (const Vec3& pull : {kUp, Vec3(1, 0, 0), Vec3(1, -2, 0.5)}) {
        const Parting found = parted(ball, pull);
        CHECK(found.line.valid);
        CHECK(found.smooth);
        REQUIRE(found.line.loops.size() == 1);
        CHECK_NEAR(found.length_mm, 2 * std::numbers::pi * 30, 0.005);
        CHECK(found.off_plane_mm < 1.0);
        CHECK_NEAR(found.upper_height_mm, 30.0, 0.06);
        CHECK_NEAR(found.lower_height_mm, 30.0, 0.06);
        CHECK(found.hidden_mm2 == 0.0);
        CHECK(parted(ball, pull, {.smooth = false}).length_mm > 1.05 * found.length_mm);
    }
}

TEST_CASE("a lying ring is parted around outside and inside; an upright one takes two slits") {
    const TriMesh ring = torus_solid(30, 10, 96).mesh;
    const Parting lying = parted(ring, kUp);
    CHECK(lying.line.valid);
    CHECK(lying.line.shut_offs == 1);
    CHECK_NEAR(lying.length_mm, 2 * std::numbers::pi * (20 + 40), 0.005);
    const Parting upright = parted(ring, Vec3::UnitX());
    CHECK_FALSE(upright.line.valid);
    CHECK(upright.line.slits == 2);
    // The inner half of the tube, but for what the rims beside it let out: its area is
    // 2 pi r (pi R - 2 r) of 4 pi2 r R, and both walls beside it look across the pull.
    CHECK(upright.hidden_mm2 > 0.5 * 2 * std::numbers::pi * 10 * (std::numbers::pi * 30 - 20));
}

TEST_CASE("a box is parted along its sharp edges, in one plane") {
    const TriMesh box = subdivided(box_solid(100, 60, 40).mesh, 3);
    const Parting found = parted(box, kUp);
    CHECK(found.line.valid);
    CHECK_FALSE(found.smooth);
    CHECK_NEAR(found.length_mm, 2 * (100 + 60), 1e-9);
    CHECK(found.off_plane_mm < 1e-9);
    CHECK_NEAR(found.upper_height_mm + found.lower_height_mm, 40.0, 1e-9);
    CHECK_NEAR(found.height_mm, 40.0, 1e-12);
    // Not along the seams of its triangles.
    CHECK(found.line.loops.size() == 1);
}

TEST_CASE("what hangs over goes to the half that is free of it") {
    // Below the cap of a mushroom the lower half reaches up; the line runs around the cap.
    const TriMesh cap = subdivided(mushroom(64).mesh, 1);
    const Parting found = parted(cap, kUp);
    CHECK(found.line.valid);
    REQUIRE(found.line.loops.size() == 1);
    CHECK_NEAR(found.length_mm, 2 * std::numbers::pi * 30, 0.01);
    CHECK(found.low_mm >= 30.0 - 1e-9);
    CHECK(found.hidden_mm2 == 0.0);
}

TEST_CASE("noise makes no islands: a bumpy ball has one loop") {
    const TriMesh mesh = bumpy_ball(30, 5, 5, 0.0, 0.002, 7);
    const Parting found = parted(mesh, Vec3(0.2, 0.1, 1.0));
    CHECK(found.line.loops.size() == 1);
    CHECK(found.line.valid);
    CHECK(found.length_mm < 2 * std::numbers::pi * 30 * 1.1);
    CHECK(found.upper_face.size() == mesh.triangles.size());
}

TEST_CASE("the same for any number of threads; a pull of zero is refused") {
    const PartingSurface surface = parting_surface(bumpy_ball(30, 3, 4, 0.3, 0.1, 3));
    const TriangleBvh index(surface.mesh_mm);
    RunContext context;
    context.threads = 1;
    const Parting one = parting(surface, index, kUp, {}, context);
    context.threads = 3;
    const Parting three = parting(surface, index, kUp, {}, context);
    CHECK(one.upper_face == three.upper_face);
    CHECK(one.length_mm == three.length_mm);
    CHECK(refusal_of([&] { return parting(surface, index, Vec3::Zero()); }) ==
          "The pull direction must not be zero.");
}
