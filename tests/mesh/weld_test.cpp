// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/weld.h"

#include <doctest/doctest.h>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"

using namespace cavigram;

namespace {

// Every triangle with corners of its own, as in an STL file.
TriMesh exploded(const TriMesh& mesh) {
    TriMesh soup;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (int i = 0; i < 3; ++i) {
            soup.vertices.push_back(mesh.corner(t, i));
        }
        const auto v = static_cast<std::int32_t>(3 * t);
        soup.triangles.push_back({v, v + 1, v + 2});
    }
    return soup;
}

}  // namespace

TEST_CASE("an exploded mesh welds back to itself, in order of first use") {
    const TriMesh mesh = torus_solid(50, 15, 40).mesh;
    const Weld weld = weld_exact(exploded(mesh));
    CHECK(weld.mesh.vertices.size() == mesh.vertices.size());
    CHECK(weld.mesh.triangles.size() == mesh.triangles.size());
    CHECK(weld.vertices_joined == 3 * mesh.triangles.size() - mesh.vertices.size());
    CHECK(weld.degenerate_triangles.empty());
    CHECK(adjacency(weld.mesh).closed());
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (int i = 0; i < 3; ++i) {
            REQUIRE(weld.mesh.corner(t, i) == mesh.corner(t, i));
        }
    }
}

TEST_CASE("minus zero is zero, and nothing else is forgiven") {
    TriMesh mesh;
    mesh.vertices = {{0, 0, 0},         {1, 0, 0}, {0, 1, 0}, {-0.0, -0.0, 0},
                     {1 + 1e-15, 0, 0}, {0, 1, 0}, {9, 9, 9}};
    mesh.triangles = {{0, 1, 2}, {3, 4, 5}, {0, 3, 1}};
    const Weld weld = weld_exact(mesh);
    CHECK(weld.mesh.vertices.size() == 4);  // the unused vertex is gone
    CHECK(weld.vertices_joined == 2);
    CHECK(weld.mesh.triangles.size() == 2);
    REQUIRE(weld.degenerate_triangles.size() == 1);
    CHECK(weld.degenerate_triangles[0] == 2);
}
