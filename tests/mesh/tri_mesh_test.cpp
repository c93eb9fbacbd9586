// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/tri_mesh.h"

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("scaling by s scales volume by |s|^3; mirroring keeps outside outside") {
    const Solid box = box_solid(1, 2, 3);
    CHECK_NEAR(mass_properties(transformed(box.mesh, 2.0, Vec3(7, 8, 9))).volume_mm3, 48.0, 1e-15);
    CHECK_NEAR(mass_properties(transformed(box.mesh, -1.0, Vec3::Zero())).volume_mm3, 6.0, 1e-15);
    CHECK_NEAR(mass_properties(flipped(box.mesh)).volume_mm3, -6.0, 1e-15);
    CHECK_NEAR(
        mass_properties(joined(box.mesh, transformed(box.mesh, 1.0, Vec3(9, 0, 0)))).volume_mm3,
        12.0, 1e-15);
}

TEST_CASE("bounds count used vertices only") {
    TriMesh mesh = box_solid(1, 2, 3).mesh;
    mesh.vertices.emplace_back(100, 100, 100);
    CHECK(bounds(mesh).max() == Vec3(1, 2, 3));
    CHECK(bounds(TriMesh{}).isEmpty());
}
