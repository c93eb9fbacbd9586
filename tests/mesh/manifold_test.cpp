// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/manifold.h"

#include <doctest/doctest.h>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/weld.h"

using namespace cavigram;

namespace {

TriMesh two_boxes(const Vec3& shift) {
    return weld_exact(
               joined(box_solid(1, 1, 1).mesh, transformed(box_solid(1, 1, 1).mesh, 1.0, shift)))
        .mesh;
}

}  // namespace

TEST_CASE("a sound mesh is left as it is") {
    const TriMesh mesh = torus_solid(50, 15, 40).mesh;
    const ManifoldCut cut = cut_to_manifold(mesh);
    CHECK(cut.edges_parted == 0);
    CHECK(cut.vertices_parted == 0);
    CHECK(cut.mesh.triangles == mesh.triangles);
}

TEST_CASE(
    "boxes that share an edge or a corner become two shells; glued along an edge inside out, one") {
    for (const Vec3& shift : {Vec3(1, 1, 0), Vec3(1, -1, 0), Vec3(0, 1, 1), Vec3(1, 0, -1)}) {
        const TriMesh pair = two_boxes(shift);
        CHECK_FALSE(adjacency(pair).closed());
        const ManifoldCut cut = cut_to_manifold(pair);
        CHECK(cut.edges_parted == 1);
        CHECK(cut.vertices_parted == 2);
        const Adjacency adjacent = adjacency(cut.mesh);
        CHECK(adjacent.closed());
        CHECK(shells(cut.mesh, adjacent).count == 2);
        // Inside out, what lies around the two boxes is the solid, and it is one: the surface pairs
        // the other way and is one shell.
        const TriMesh inverse = cut_to_manifold(flipped(pair)).mesh;
        CHECK(adjacency(inverse).closed());
        CHECK(shells(inverse, adjacency(inverse)).count == 1);
    }
    const ManifoldCut corner = cut_to_manifold(two_boxes(Vec3(1, 1, 1)));
    CHECK(corner.edges_parted == 0);
    CHECK(corner.vertices_parted == 1);
    CHECK(shells(corner.mesh, adjacency(corner.mesh)).count == 2);
}

TEST_CASE("a triangle too many stays as a border") {
    TriMesh fin = box_solid(1, 1, 1).mesh;
    fin.vertices.emplace_back(0.5, 0.5, 5.0);
    fin.triangles.push_back({4, 5, 8});
    const ManifoldCut cut = cut_to_manifold(fin);
    const Adjacency adjacent = adjacency(cut.mesh);
    CHECK(adjacent.irregular_halfedges == 0);
    CHECK(adjacent.border_halfedges == 3);
}
