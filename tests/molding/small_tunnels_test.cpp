// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/small_tunnels.h"

#include <numbers>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/molding/parting_loops.h"

#include "molding/shapes.h"
#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

BridgedSurface bridged(const TriMesh& mesh, double width_mm = kThinnestTongue_mm) {
    return bridge_small_tunnels(mesh, TriangleBvh(mesh), width_mm);
}

// A block of 17 x 7 x 7 with tunnels along z through it: one square of 1, one of 5.
TriMesh block_with_tunnels() {
    return blocks(17, 7, 7,
                  [](int x, int y, int) {
                      const bool narrow = x == 3 && y == 3;
                      const bool wide = x >= 10 && x < 15 && y >= 1 && y < 6;
                      return !narrow && !wide;
                  })
        .mesh;
}

}  // namespace

// Euler: a block with two holes through it has genus 2, with one bridged 1.
TEST_CASE("a tunnel of one square millimeter is bridged, one of twenty-five is not") {
    const TriMesh mesh = block_with_tunnels();
    REQUIRE(parting_surface(mesh).genus == std::vector<int>{2});
    const BridgedSurface found = bridged(mesh);
    REQUIRE(found.tunnels.size() == 1);
    // A square's girth of 4, as a circle's width.
    CHECK_NEAR(found.tunnels[0].width_mm, 4.0 / std::numbers::pi, 1e-9);
    CHECK(std::abs(found.tunnels[0].at_mm.x() - 3.5) < 0.51);
    const PartingSurface surface = parting_surface(found.mesh_mm);
    CHECK(surface.genus == std::vector<int>{1});
    CHECK(surface.adjacent.closed());
    // Its own triangles come first, in their places.
    const std::size_t own = mesh.triangles.size();
    REQUIRE(found.mesh_mm.triangles.size() == own + found.grown_on.size());
    double moved = 0.0;
    for (std::size_t t = 0; t < own; ++t) {
        for (int k = 0; k < 3; ++k) {
            moved += (found.mesh_mm.corner(t, k) - mesh.corner(t, k)).norm();
        }
    }
    CHECK(moved == 0.0);
    for (const std::int32_t t : found.grown_on) {
        CHECK(static_cast<std::size_t>(t) < own);
    }
    CHECK(bridged(mesh, 3.9 / std::numbers::pi).tunnels.empty());
    CHECK(bridged(mesh, 20.1 / std::numbers::pi).tunnels.size() == 2);
}

TEST_CASE("neither a thread of the part nor the neck of a hollow is a tunnel") {
    // The wire is 1 across, the ring's hole 59: cut, the ring would be no ring.
    CHECK(bridged(torus_solid(30, 0.5, 64).mesh).tunnels.empty());
    // A bottle: what lies around its neck parts the surface in two. The wide tunnel beside it makes
    // the search look at all.
    const TriMesh bottle = blocks(17, 7, 7, [](int x, int y, int z) {
                               const bool hollow =
                                   x >= 2 && x < 5 && y >= 2 && y < 5 && z >= 2 && z < 5;
                               const bool neck = x == 3 && y == 3 && z >= 5;
                               const bool wide = x >= 10 && x < 15 && y >= 1 && y < 6;
                               return !hollow && !neck && !wide;
                           }).mesh;
    REQUIRE(parting_surface(bottle).genus == std::vector<int>{1});
    CHECK(bridged(bottle).tunnels.empty());
}

TEST_CASE("a part without holes is given back as it is; the same for any number of threads") {
    const TriMesh ball = sphere_solid(30, 24).mesh;
    CHECK(bridged(ball).mesh_mm.triangles == ball.triangles);
    const TriMesh mesh = block_with_tunnels();
    const TriangleBvh index(mesh);
    RunContext context;
    context.threads = 1;
    const BridgedSurface one = bridge_small_tunnels(mesh, index, 2.0, context);
    context.threads = 3;
    const BridgedSurface three = bridge_small_tunnels(mesh, index, 2.0, context);
    CHECK(one.mesh_mm.triangles == three.mesh_mm.triangles);
}
