// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/plateau.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

Vec3 middle_at_top(const TriMesh& mesh, const Vec3& up) {
    const AirTreeBuilder solid(mesh);
    const AirTree tree = solid.build(up);
    return plateau_middle_mm(solid, tree.up,
                             tree.arcs[std::size_t(tree.roots.front())].peak_vertex);
}

}  // namespace

TEST_CASE("the middle of a level face is its area centroid, however it is cut") {
    CHECK((middle_at_top(box_solid(4, 6, 3).mesh, Vec3::UnitZ()) - Vec3(2, 3, 3)).norm() < 1e-14);
    CHECK((middle_at_top(subdivided(box_solid(4, 6, 3).mesh, 3), Vec3::UnitZ()) - Vec3(2, 3, 3))
              .norm() < 1e-13);
    // An L of three cubes: (0.5 + 1.5 + 0.5) / 3 both ways. It lies on the L.
    const Solid wide = blocks(2, 2, 1, [](int x, int y, int) { return x + y < 2; });
    CHECK((middle_at_top(wide.mesh, Vec3::UnitZ()) - Vec3(2.5 / 3, 2.5 / 3, 1)).norm() < 1e-14);
    // Turned, the face is level only to rounding.
    const Mat3 turn = some_rotation(3);
    const TriMesh turned = rotated(subdivided(box_solid(4, 6, 3).mesh, 3), turn);
    CHECK((middle_at_top(turned, turn * Vec3::UnitZ()) - turn * Vec3(2, 3, 3)).norm() < 1e-12);
}

TEST_CASE("a middle that would lie off the level place is moved onto it") {
    // A square frame of 4 x 4 cubes about a hole of 2 x 2: the centroid (2, 2) is in the hole, and
    // the nearest places of the frame are 1 away.
    const Solid frame =
        blocks(4, 4, 1, [](int x, int y, int) { return x == 0 || x == 3 || y == 0 || y == 3; });
    const Vec3 middle = middle_at_top(frame.mesh, Vec3::UnitZ());
    CHECK(middle.z() == 1.0);
    CHECK_NEAR((middle - Vec3(2, 2, 1)).norm(), 1.0, 1e-14);
}

TEST_CASE("a ridge has its middle along its length, a tip is itself") {
    // A roof: a box on edge, its level ridge from (.,0,.) to (.,5,.).
    const TriMesh box = subdivided(box_solid(3, 5, 3).mesh, 2);
    const Vec3 ridge = middle_at_top(box, Vec3(1, 0, 1));
    CHECK((ridge - Vec3(3, 2.5, 3)).norm() < 1e-13);
    CHECK((middle_at_top(cone_solid(3, 7, 12).mesh, Vec3::UnitZ()) - Vec3(0, 0, 7)).norm() == 0.0);
    // The highest circle of a ring that lies flat is a loop of edges; any of its places is as near.
    const Vec3 on_ring = middle_at_top(torus_solid(30, 8, 32).mesh, Vec3::UnitZ());
    CHECK_NEAR(on_ring.z(), 8.0, 1e-14);
}
