// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/farthest.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

// Closed forms: half a great circle on a ball; on a long box the way to the middle of the far end's
// edge and beyond.
TEST_CASE("the far side of a ball is half way round it") {
    const double half_round = 30.0 * 4.0 * std::atan(1.0);
    const AirTreeBuilder ball(sphere_solid(30, 96).mesh);
    const Vec3 pole[] = {Vec3(0, 0, 30)};
    const FarthestPlace from_pole = farthest_place(ball, pole);
    CHECK_NEAR(from_pole.path_mm, half_round, 1e-3);  // straight down a meridian
    CHECK((from_pole.place_mm - Vec3(0, 0, -30)).norm() < 1e-9);
    // On an even mesh from anywhere: never shorter than the mesh allows, a tenth longer at most.
    const AirTreeBuilder even(bumpy_ball(30, 4, 1, 0.0, 0.0, 1));
    for (const Vec3& from : sphere_directions(12)) {
        const Vec3 hole[] = {30.0 * from};
        const FarthestPlace found = farthest_place(even, hole);
        CHECK(found.path_mm > 0.98 * half_round);
        CHECK(found.path_mm < 1.1 * half_round);
    }
}

TEST_CASE("of several pour holes the nearest counts; two solids without a hole do not") {
    const TriMesh bar = subdivided(box_solid(128, 8, 8).mesh, 4);
    const AirTreeBuilder solid(bar);
    const Vec3 one[] = {Vec3(0, 4, 4)};
    const Vec3 both[] = {Vec3(0, 4, 4), Vec3(128, 4, 4)};
    // Half an end face, the whole length, half the other.
    const double far = farthest_place(solid, one).path_mm;
    CHECK(far >= 128.0);
    CHECK(far <= 1.1 * 136.0);
    const FarthestPlace middle = farthest_place(solid, both);
    CHECK(middle.path_mm < 0.6 * far);
    CHECK(std::abs(middle.place_mm.x() - 64.0) <= 8.0);
}
