// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/unite.h"

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"
#include "support/ray_volume.h"
#include "support/tubes.h"

using namespace cavigram;

namespace {

Uniting united(const TriMesh& mesh) {
    const Adjacency adjacent = adjacency(mesh);
    return unite_crossing(mesh, shells(mesh, adjacent), crossing_pairs(mesh, adjacent));
}

}  // namespace

TEST_CASE("two boxes that overlap become one, and what was counted twice is known") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const Uniting result = united(joined(box, transformed(box, 1.0, Vec3(20, 20, 20))));
    CHECK(result.groups == 1);
    CHECK(result.shells == 2);
    CHECK_FALSE(result.failed);
    CHECK(result.left == 0);
    CHECK_NEAR(mass_properties(result.mesh).volume_mm3, 2 * 64000.0 - 8000.0, 1e-12);
    CHECK_NEAR(result.overlap_mm3, 8000.0, 1e-9);
    const Adjacency adjacent = adjacency(result.mesh);
    CHECK(adjacent.closed());
    CHECK(shells(result.mesh, adjacent).count == 1);
}

TEST_CASE("boxes apart are left alone") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const Uniting result = united(joined(box, transformed(box, 1.0, Vec3(60, 0, 0))));
    CHECK(result.groups == 0);
    CHECK_NEAR(mass_properties(result.mesh).volume_mm3, 128000.0, 1e-12);
}

TEST_CASE("a shell that crosses only itself is cut by itself, and others stay in front of it") {
    const TriMesh tube = tubes::figure_eight(60.0, 8.0, 120, 24);
    const TriMesh box = transformed(box_solid(10, 10, 10).mesh, 1.0, Vec3(0, 0, 50));
    const Uniting result = united(joined(tube, box));
    CHECK(result.groups == 0);
    CHECK(result.crossing_alone == 1);
    CHECK(result.untouched == 12);
    CHECK_NEAR(mass_properties(result.mesh).volume_mm3, oracle::ray_volume(tube, 1000) + 1000.0,
               5e-4);
    // All of it inside out is a hollow of the same shape.
    const Uniting hollow = united(flipped(tube));
    CHECK_NEAR(mass_properties(hollow.mesh).volume_mm3, -oracle::ray_volume(tube, 1000), 5e-4);
}
