// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/orientation.h"

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

#include "support/damage.h"
#include "support/near.h"

using namespace cavigram;

TEST_CASE("flipped patches are turned back; the piece keeps the way of most of its area") {
    const TriMesh torus = torus_solid(50, 15, 60).mesh;
    const TriMesh patched = damage::part_flipped(torus, [](const Vec3& c) { return c.x() > 30; });
    const Consistency fixed = make_consistent(patched);
    CHECK(adjacency(fixed.mesh).closed());
    CHECK(fixed.turned > 0);
    CHECK(fixed.turned == fixed.turned_triangles.size());
    CHECK_NEAR(mass_properties(fixed.mesh).volume_mm3, mass_properties(torus).volume_mm3, 1e-12);
    CHECK(make_consistent(torus).turned == 0);
    // Most of it inside out: the piece as a whole stays so, which is for nesting_of to find.
    const TriMesh mostly = damage::part_flipped(torus, [](const Vec3& c) { return c.x() < 30; });
    CHECK(mass_properties(make_consistent(mostly).mesh).volume_mm3 < 0.0);
}

TEST_CASE("shells: outer outward; one within is a hollow or solid in solid as it looks") {
    const Solid big = sphere_solid(30, 32);
    const Solid middle = sphere_solid(20, 32);
    const Solid small = sphere_solid(10, 32);
    const Solid beside = box_solid(5, 5, 5);
    for (unsigned turned = 0; turned < 16; ++turned) {
        TriMesh mesh = turned & 1 ? flipped(big.mesh) : big.mesh;
        mesh = joined(mesh, turned & 2 ? flipped(middle.mesh) : middle.mesh);
        mesh = joined(mesh, turned & 4 ? flipped(small.mesh) : small.mesh);
        const TriMesh box = transformed(beside.mesh, 1.0, Vec3(40, 0, 0));
        mesh = joined(mesh, turned & 8 ? flipped(box) : box);
        const Shells of = shells(mesh, adjacency(mesh));
        const Nesting nesting = nesting_of(mesh, of);
        turn_shells(mesh, of, nesting.turned);
        CHECK(nesting.depth == std::vector<int>{0, 1, 2, 0});
        // Relative to the outermost shell, which may be inside out with all that it holds.
        const bool middle_same = ((turned >> 1) & 1U) == (turned & 1U);
        const bool small_same = ((turned >> 2) & 1U) == (turned & 1U);
        const bool small_hollow = middle_same && !small_same;
        CHECK(nesting.role[0] == ShellRole::solid);
        CHECK(nesting.role[1] == (middle_same ? ShellRole::within : ShellRole::hollow));
        CHECK(nesting.role[2] == (!middle_same ? ShellRole::solid
                                  : small_same ? ShellRole::within
                                               : ShellRole::hollow));
        CHECK(nesting.role[3] == ShellRole::solid);
        CHECK_NEAR(mass_properties(mesh).volume_mm3,
                   big.volume_mm3 + (middle_same ? 1.0 : -1.0) * middle.volume_mm3 +
                       (small_hollow ? -1.0 : 1.0) * small.volume_mm3 + beside.volume_mm3,
                   1e-12);
    }
}
