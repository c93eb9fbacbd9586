// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/deepest.h"

#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

Mat3 some_rotation() {
    return Eigen::AngleAxisd(0.7, Vec3(1.0, -2.0, 0.5).normalized()).toRotationMatrix();
}

}  // namespace

TEST_CASE("depth is positive inside, negative outside, and the distance to the nearest wall") {
    const TriangleBvh box(box_solid(10.0, 20.0, 30.0).mesh);
    CHECK(depth_at(box, Vec3(5.0, 10.0, 15.0)) == 5.0);
    CHECK(depth_at(box, Vec3(5.0, 10.0, 29.0)) == 1.0);
    CHECK(depth_at(box, Vec3(13.0, 24.0, 15.0)) == -5.0);
}

// docs/checks.md G-15: the largest inscribed ball of each body, twice its radius being the largest
// local thickness.
TEST_CASE("the deepest point is the center of the largest ball") {
    SUBCASE("box 100 x 60 x 40: 40 mm") {
        const TriMesh mesh = rotated(box_solid(100.0, 60.0, 40.0).mesh, some_rotation());
        const DeepestPoint found = deepest_point(TriangleBvh(mesh));
        CHECK_NEAR(2.0 * found.depth_mm, 40.0, 1e-5);
        CHECK_NEAR((some_rotation().transpose() * found.at_mm).z(), 20.0, 1e-5);
    }
    SUBCASE("cone R30 H90: 43.245553 mm for the round cone, 3V/A of the faceted one") {
        const Solid cone = cone_solid(30.0, 90.0, 256);
        const double r = 3.0 * cone.volume_mm3 / cone.area_mm2;
        const DeepestPoint found = deepest_point(TriangleBvh(rotated(cone.mesh, some_rotation())));
        CHECK_NEAR(found.depth_mm, r, 1e-5);
        CHECK_NEAR(2.0 * found.depth_mm, 43.245553, 2e-4);
        CHECK((some_rotation().transpose() * found.at_mm - Vec3(0.0, 0.0, r)).norm() < 0.01);
    }
    SUBCASE("cylinder R20: 40 mm") {
        const DeepestPoint found =
            deepest_point(TriangleBvh(cylinder_solid(20.0, 300.0, 512).mesh));
        CHECK_NEAR(2.0 * found.depth_mm, 40.0, 1e-4);
    }
    SUBCASE("sphere and torus") {
        CHECK_NEAR(deepest_point(TriangleBvh(sphere_solid(30.0, 128).mesh)).depth_mm, 30.0, 1e-3);
        CHECK_NEAR(deepest_point(TriangleBvh(torus_solid(50.0, 15.0, 128).mesh)).depth_mm, 15.0,
                   3e-3);
    }
    SUBCASE("two boxes far apart: the larger ball wins, whichever comes first") {
        const TriMesh small = box_solid(10.0, 10.0, 10.0).mesh;
        const TriMesh large = box_solid(10.5, 11.0, 30.0).mesh;
        const Vec3 shift(300.0, 10.0, -20.0);
        CHECK_NEAR(
            deepest_point(TriangleBvh(joined(small, transformed(large, 1.0, shift)))).depth_mm,
            5.25, 1e-4);
        CHECK_NEAR(
            deepest_point(TriangleBvh(joined(transformed(large, 1.0, shift), small))).depth_mm,
            5.25, 1e-4);
    }
}

TEST_CASE("a plate one five-hundredth as thick as it is wide still has an inside") {
    CHECK_NEAR(deepest_point(TriangleBvh(box_solid(500.0, 500.0, 1.0).mesh)).depth_mm, 0.5, 1e-3);
}

TEST_CASE("an inside-out part has no deepest point") {
    CHECK(deepest_point(TriangleBvh(flipped(box_solid(1.0, 1.0, 1.0).mesh))).depth_mm == 0.0);
    CHECK(deepest_point(TriangleBvh()).depth_mm == 0.0);
}
