// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/draft.h"

#include <cmath>
#include <numbers>

#include "molding/shapes.h"
#include "support/near.h"

using namespace cavigram;

// docs/checks.md R3
TEST_CASE("3 degrees over 100 mm") {
    CHECK_NEAR(draft_offset_mm(3.0, 100.0), 5.240778, 1e-6);
}

TEST_CASE("steep walls of a box, a ball and a cone") {
    const TriMesh box = box_solid(100, 60, 40).mesh;
    CHECK_NEAR(draft(box, Vec3::UnitZ()).steep_mm2, 2 * (100 + 60) * 40, 1e-12);
    CHECK_NEAR(draft(box, Vec3::UnitZ()).area_mm2, 24800, 1e-12);
    CHECK(draft(box, Vec3(1, 1, 1)).steep_mm2 == 0.0);
    // A zone of a ball within 3 degrees of its equator has sin 3 degrees of its area (Archimedes).
    CHECK_NEAR(draft(sphere_solid(30, 720).mesh, Vec3(1, -2, 3)).steep_share(),
               std::sin(3.0 * std::numbers::pi / 180.0), 0.01);
    // The mantle of a cone leans by atan(r / h), which is 2.86 degrees here.
    const TriMesh cone = cone_solid(5, 100, 64).mesh;
    CHECK(draft(cone, Vec3::UnitZ(), 2.8).steep_share() == 0.0);
    CHECK(draft(cone, -Vec3::UnitZ(), 2.9).steep_share() > 0.9);
}
