// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/geom/directions.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("a frame is right-handed, orthonormal and exact on the axes") {
    for (const Vec3& d : sphere_directions(50)) {
        const Frame f = frame_along(3.0 * d);
        CHECK((f.z - d).norm() < 1e-15);
        CHECK((f.x.cross(f.y) - f.z).norm() < 1e-14);
        CHECK((f.world(f.local(Vec3(1, 2, 3))) - Vec3(1, 2, 3)).norm() < 1e-14);
    }
    for (int axis = 0; axis < 3; ++axis) {
        for (const double sign : {1.0, -1.0}) {
            const Frame f = frame_along(sign * Vec3::Unit(axis));
            CHECK(f.x.cross(f.y) == f.z);
            CHECK(f.z == sign * Vec3::Unit(axis));
        }
    }
    CHECK(frame_along(Vec3(1e-200, 0, 0)).z == Vec3::UnitX());
}

TEST_CASE("sphere directions are unit, balanced and spread evenly") {
    const auto directions = sphere_directions(2000);
    Vec3 sum = Vec3::Zero();
    for (const Vec3& d : directions) {
        CHECK_NEAR(d.norm(), 1.0, 1e-15);
        sum += d;
    }
    CHECK(sum.norm() / 2000 < 1e-3);
    // 2,000 points: mean spacing sqrt(4 pi / 2000) = 4.5 degrees. No gap may be much larger.
    for (const Vec3& probe : sphere_directions(137)) {
        double nearest = -1.0;
        for (const Vec3& d : directions) {
            nearest = std::max(nearest, d.dot(probe));
        }
        CHECK(std::acos(nearest) < 0.075);
    }
}
