// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/tangles.h"

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("without crossings nothing is touched") {
    const TriMesh torus = torus_solid(50, 15, 40).mesh;
    const Untangling same = undo_tangles(torus, {});
    CHECK(same.triangles_removed == 0);
    CHECK(same.left.empty());
    CHECK(same.mesh.triangles == torus.triangles);
}

TEST_CASE("a fold in a sphere is cut out and refilled, and the range holds the ball") {
    const Solid sphere = sphere_solid(30, 64);
    TriMesh folded = sphere.mesh;
    // Two vertices near each other change places.
    const std::size_t v = 1 + 64 * 15 + 10;
    std::swap(folded.vertices[v], folded.vertices[v + 2]);
    const auto pairs = crossing_pairs(folded, adjacency(folded));
    REQUIRE_FALSE(pairs.empty());
    const Untangling undone = undo_tangles(folded, pairs);
    CHECK(undone.left.empty());
    CHECK(undone.triangles_removed > 0);
    const Adjacency adjacent = adjacency(undone.mesh);
    CHECK(adjacent.closed());
    CHECK(crossing_pairs(undone.mesh, adjacent).empty());
    const double volume = mass_properties(undone.mesh).volume_mm3;
    CHECK(sphere.volume_mm3 >= volume - undone.volume_below_mm3);
    CHECK(sphere.volume_mm3 <= volume + undone.volume_above_mm3);
    CHECK_NEAR(volume, sphere.volume_mm3, 0.005);
}
