// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/unite.h"

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

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
    CHECK(result.failed == 0);
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
