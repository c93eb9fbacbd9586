// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/glove_slit.h"

#include <cmath>
#include <numbers>

#include "molding/shapes.h"
#include "support/near.h"

using namespace cavigram;

namespace {

const Vec3 kUp = Vec3::UnitZ();

}  // namespace

TEST_CASE("up the stem of a mushroom the shortest slit is straight") {
    const TriMesh mesh = subdivided(mushroom(64).mesh, 2);
    const auto slit = glove_slit(mesh, kUp, 0.0, 30.0);
    REQUIRE(slit.has_value());
    CHECK_NEAR(slit->length_mm, 30.0, 1e-12);
    CHECK(slit->points_mm.front().z() == 0.0);
    CHECK_NEAR(slit->points_mm.back().z(), 30.0, 1e-12);
    CHECK(slit->show_share == 0.0);
    for (const Vec3& p : slit->points_mm) {
        CHECK_NEAR(p.head<2>().norm(), 20.0, 0.01);  // on the stem, no shorter way
    }
}

// Within 60 degrees of +x a third of the stem is seen; all of it but a gap, if a box says so.
TEST_CASE("it keeps off the show side, and goes around it while that is worth it") {
    const TriMesh mesh = subdivided(mushroom(64).mesh, 2);
    for (const Vec3& seen : {Vec3(Vec3::UnitX()), Vec3(-Vec3::UnitY())}) {
        const auto slit = glove_slit(mesh, kUp, 0.0, 30.0, ShowSide{.toward = seen});
        REQUIRE(slit.has_value());
        CHECK(slit->show_share == 0.0);
        CHECK_NEAR(slit->length_mm, 30.0, 1e-12);
        for (const Vec3& p : slit->points_mm) {
            CHECK(p.head<2>().normalized().dot(seen.head<2>()) < 0.51);
        }
    }
    // Everything is seen: straight all the same.
    const Box3 all(Vec3(-100, -100, -100), Vec3(100, 100, 100));
    const auto shown = glove_slit(mesh, kUp, 0.0, 30.0, ShowSide{.box_mm = all});
    REQUIRE(shown.has_value());
    CHECK_NEAR(shown->length_mm, 30.0, 1e-12);
    CHECK(shown->show_share == 1.0);
}

// On a cone's net the shortest way from rim to tip is its side: sqrt(r2 + h2).
TEST_CASE("up a cone it is as long as its side; what is not joined has none") {
    const TriMesh cone = cone_solid(30, 40, 64, 8).mesh;
    const auto slit = glove_slit(cone, kUp, 0.0, 40.0);
    REQUIRE(slit.has_value());
    CHECK_NEAR(slit->length_mm, 50.0, 1e-9);
    CHECK_FALSE(glove_slit(cone, kUp, 0.0, 41.0).has_value());
    CHECK_FALSE(glove_slit(cone, kUp, -1.0, 40.0).has_value());
    CHECK_FALSE(glove_slit(cone, kUp, 0.0, 0.0).has_value());  // the rim: nothing to cut
}
