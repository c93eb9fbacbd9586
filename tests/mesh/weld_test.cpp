// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/weld.h"

#include <array>
#include <map>
#include <random>
#include <vector>

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

// Loose triangles have up to six times the positions of a closed mesh with as many. Oracle: a map
// ordered by coordinates, numbers given by first use.
TEST_CASE("soups that share few corners or many weld as a map does") {
    std::mt19937 random(18);  // NOLINT: a fixed seed, so that a failure comes back
    for (const int side : {3, 8, 20, 1000000}) {
        std::uniform_int_distribution<int> step(-side, side);
        TriMesh soup;
        for (std::int32_t corner = 0; corner < 9000; ++corner) {
            soup.vertices.emplace_back(step(random), 0.1 * step(random), step(random) / 3.0);
            if (corner % 3 == 2) {
                soup.triangles.push_back({corner - 2, corner - 1, corner});
            }
        }
        std::map<std::array<double, 3>, std::int32_t> numbers;
        std::vector<Triangle> welded;
        std::vector<std::int32_t> degenerate;
        for (std::size_t t = 0; t < soup.triangles.size(); ++t) {
            Triangle now;
            for (int i = 0; i < 3; ++i) {
                const Vec3& p = soup.corner(t, i);
                const auto next = static_cast<std::int32_t>(numbers.size());
                // Adding 0 turns -0 into 0.
                now[static_cast<std::size_t>(i)] =
                    numbers.try_emplace({p.x() + 0.0, p.y() + 0.0, p.z() + 0.0}, next)
                        .first->second;
            }
            if (now[0] == now[1] || now[1] == now[2] || now[2] == now[0]) {
                degenerate.push_back(static_cast<std::int32_t>(t));
            } else {
                welded.push_back(now);
            }
        }
        const Weld weld = weld_exact(soup);
        INFO("side ", side);
        CHECK(weld.mesh.vertices.size() == numbers.size());
        CHECK(weld.vertices_joined == 9000 - numbers.size());
        CHECK(weld.degenerate_triangles == degenerate);
        CHECK(weld.mesh.triangles == welded);
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
