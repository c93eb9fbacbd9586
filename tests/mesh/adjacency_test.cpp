// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/adjacency.h"

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"

using namespace cavigram;

namespace {

TriMesh without(TriMesh mesh, std::size_t triangle) {
    mesh.triangles.erase(mesh.triangles.begin() + static_cast<std::ptrdiff_t>(triangle));
    return mesh;
}

}  // namespace

TEST_CASE("twins run against each other on every closed solid") {
    // A cone of 3,000 sides has an apex of degree 3,000: long rows take the other way of searching.
    for (const TriMesh& mesh :
         {box_solid(1, 2, 3).mesh, cone_solid(30, 90, 3000).mesh, torus_solid(5, 2, 24).mesh}) {
        const Adjacency adjacent = adjacency(mesh);
        CHECK(adjacent.closed());
        for (std::size_t h = 0; h < adjacent.twin.size(); ++h) {
            const auto g = static_cast<std::size_t>(adjacent.twin[h]);
            REQUIRE(adjacent.twin[g] == static_cast<std::int32_t>(h));
            REQUIRE(mesh.triangles[h / 3][h % 3] == mesh.triangles[g / 3][(g + 1) % 3]);
            REQUIRE(mesh.triangles[g / 3][g % 3] == mesh.triangles[h / 3][(h + 1) % 3]);
        }
    }
}

TEST_CASE("holes, flips and triple edges are told apart") {
    const TriMesh box = box_solid(1, 1, 1).mesh;
    const Adjacency open = adjacency(without(box, 0));
    CHECK(open.border_halfedges == 3);
    CHECK(open.irregular_halfedges == 0);

    TriMesh turned = box;
    std::swap(turned.triangles[0][1], turned.triangles[0][2]);
    CHECK_FALSE(adjacency(turned).closed());

    TriMesh fin = box;
    fin.vertices.emplace_back(0.5, 0.5, 5.0);
    fin.triangles.push_back({4, 5, 8});
    CHECK(adjacency(fin).irregular_halfedges ==
          3);  // two of the box's and one of the fin's run along that edge
    CHECK(adjacency(fin).border_halfedges == 2);
}

TEST_CASE("shells are counted") {
    const TriMesh pair =
        joined(box_solid(1, 1, 1).mesh, transformed(sphere_solid(1, 16).mesh, 1.0, Vec3(5, 0, 0)));
    const Shells two = shells(pair, adjacency(pair));
    CHECK(two.count == 2);
    CHECK(two.of_triangle.front() == 0);
    CHECK(two.of_triangle.back() == 1);
}

TEST_CASE("rims are chained, also where two of them touch at a vertex") {
    TriMesh sphere = sphere_solid(10, 16).mesh;
    CHECK(border_loops(sphere, adjacency(sphere)).empty());
    // The first 16 triangles fan around the south pole.
    TriMesh open = sphere;
    open.triangles.erase(open.triangles.begin(), open.triangles.begin() + 16);
    auto loops = border_loops(open, adjacency(open));
    REQUIRE(loops.size() == 1);
    CHECK(loops[0].size() == 16);

    TriMesh touching = sphere;  // two opposite triangles of the pole fan: their rims share the pole
    touching.triangles.erase(touching.triangles.begin() + 8);
    touching.triangles.erase(touching.triangles.begin());
    loops = border_loops(touching, adjacency(touching));
    std::size_t edges = 0;
    for (const auto& loop : loops) {
        edges += loop.size();
    }
    CHECK(edges == 6);
}
