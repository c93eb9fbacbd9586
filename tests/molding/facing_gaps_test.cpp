// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/facing_gaps.h"

#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

std::optional<FacingGap> gap_of(const TriMesh& mesh, double more, double less) {
    return narrowest_gap(mesh, TriangleBvh(mesh), {.more_than_mm = more, .less_than_mm = less});
}

}  // namespace

TEST_CASE("a ring's hole is as wide as the ring less its tube") {
    // Twice 50 less twice 15; with flat sides no nearer than the chords' rise, and seen from the
    // nearest of 4,000 places.
    const TriMesh ring = torus_solid(50.0, 15.0, 96).mesh;
    const std::optional<FacingGap> gap = gap_of(ring, 0.0, 100.0);
    REQUIRE(gap);
    CHECK(gap->width_mm > 69.0);
    CHECK(gap->width_mm < 71.0);
    CHECK(gap->at_mm.norm() < 5.0);
    CHECK_FALSE(gap_of(ring, 0.0, 60.0));
}

TEST_CASE("the narrowest of several within the limits, and where") {
    // Three plates of 10 mm with 8 and 14 mm of air between them.
    TriMesh plates = box_solid(60.0, 60.0, 10.0).mesh;
    plates = joined(plates, transformed(box_solid(60.0, 60.0, 10.0).mesh, 1.0, Vec3(0, 0, 18.0)));
    plates = joined(plates, transformed(box_solid(60.0, 60.0, 10.0).mesh, 1.0, Vec3(0, 0, 42.0)));
    const std::optional<FacingGap> narrow = gap_of(plates, 0.0, 30.0);
    REQUIRE(narrow);
    CHECK_NEAR(narrow->width_mm, 8.0, 1e-12);
    CHECK_NEAR(narrow->at_mm.z(), 14.0, 1e-12);
    const std::optional<FacingGap> wide = gap_of(plates, 9.0, 30.0);
    REQUIRE(wide);
    CHECK_NEAR(wide->width_mm, 14.0, 1e-12);
    CHECK_FALSE(gap_of(plates, 15.0, 30.0));
}

TEST_CASE("convex parts, walls at right angles and grooves that open have none") {
    CHECK_FALSE(gap_of(box_solid(50.0, 50.0, 50.0).mesh, 0.0, 1000.0));
    CHECK_FALSE(gap_of(sphere_solid(30.0, 48).mesh, 0.0, 1000.0));
    // An L of cubes.
    const TriMesh corner = polycube_solid({true, true, true, false}, 2, 1, 2).mesh;
    CHECK_FALSE(gap_of(corner, 0.0, 1000.0));
    // A V-shaped waist of a right angle between two cones.
    const TriMesh waist = revolved_solid({{0, 0}, {30, 0}, {10, 20}, {30, 40}, {0, 40}}, 64).mesh;
    CHECK_FALSE(gap_of(waist, 0.0, 1000.0));
}
