// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/channels.h"

#include <cmath>

#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("a hole straight out of a flat wall is as long as the shell is thick") {
    const TriMesh box = box_solid(100.0, 60.0, 40.0).mesh;
    const TriangleBvh surface(box);
    const Vec3 top(30.0, 20.0, 40.0);
    CHECK_NEAR(shell_length_mm(surface, top, Vec3(0.0, 0.0, 5.0), 25.0), 25.0, 1e-12);
    // Aslant by 60 degrees: twice as long over a flat wall; both ends far from the edges.
    CHECK_NEAR(shell_length_mm(surface, Vec3(20.0, 30.0, 40.0),
                               Vec3(std::sqrt(3.0) / 2.0, 0.0, 0.5), 25.0),
               50.0, 2e-4);
    CHECK_NEAR(block_length_mm(box, Vec3(30.0, 20.0, 25.0), Vec3::UnitZ(), 12.0), 27.0, 1e-15);
    CHECK_NEAR(Channel({top, 10.0, 20.0}).volume_mm3(), 1570.7963268, 1e-10);  // pi/4 d^2 l
}

TEST_CASE("a hole out of a ball, aslant, by the circle's equation") {
    // From the ball's top at height R, along a direction that leans by a: |R z + s d| = R + t gives
    // s = -R cos a + sqrt((R cos a)^2 + 2 R t + t^2).
    const double r = 30.0;
    const double t = 10.0;
    const TriMesh ball = sphere_solid(r, 512).mesh;
    const TriangleBvh surface(ball);
    for (const double lean : {0.0, 0.4, 1.2}) {
        CAPTURE(lean);
        const double c = r * std::cos(lean);
        const double expected = -c + std::sqrt(c * c + 2.0 * r * t + t * t);
        const double length = shell_length_mm(surface, Vec3(0.0, 0.0, r),
                                              Vec3(std::sin(lean), 0.0, std::cos(lean)), t);
        // Flat sides of 512: the ball's radius is off by up to r pi^2 / (2 n^2) twice.
        CHECK(std::abs(length - expected) < 0.01);
    }
}

TEST_CASE("past an overhang of the part itself, to the open air beyond") {
    // A lower plate of 20 mm, 30 mm of air, and above it a roof of 20 mm: with 20 mm of shell the
    // hole leaves only above the roof; with 10 mm it comes out between the two.
    const TriMesh slot =
        joined(box_solid(100.0, 100.0, 20.0).mesh,
               transformed(box_solid(100.0, 100.0, 20.0).mesh, 1.0, Vec3(0.0, 0.0, 50.0)));
    const TriangleBvh surface(slot);
    const Vec3 from(50.0, 50.0, 20.0);
    CHECK_NEAR(shell_length_mm(surface, from, Vec3::UnitZ(), 10.0), 10.0, 2e-4);
    CHECK_NEAR(shell_length_mm(surface, from, Vec3::UnitZ(), 20.0), 30.0 + 20.0 + 20.0, 2e-4);
}
