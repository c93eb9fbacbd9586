// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/crossings.h"

#include <random>

#include "cavigram/mesh/solids.h"

#include "support/damage.h"
#include "support/near.h"
#include "support/oracles.h"

using namespace cavigram;

namespace {

std::vector<CrossingPair> found(const TriMesh& mesh, int threads = 0) {
    const Adjacency adjacent = adjacency(mesh);
    RunContext context;
    context.threads = threads;
    const std::vector<CrossingPair> pairs = crossing_pairs(mesh, adjacent, context);
    CHECK(crosses_itself(mesh, adjacent, context) == !pairs.empty());
    return pairs;
}

TriMesh random_soup(std::size_t count, double edge, std::mt19937& random, bool on_grid) {
    std::uniform_real_distribution<double> place(0.0, 10.0);
    std::uniform_real_distribution<double> step(-edge, edge);
    TriMesh soup;
    const auto put = [&](const Vec3& p) {
        soup.vertices.push_back(on_grid ? Vec3(p.array().round()) : p);
    };
    for (std::size_t i = 0; i < count; ++i) {
        const Vec3 at(place(random), place(random), place(random));
        const auto v = static_cast<std::int32_t>(soup.vertices.size());
        for (int k = 0; k < 3; ++k) {
            put(at + Vec3(step(random), step(random), step(random)));
        }
        const auto n = static_cast<std::size_t>(v);
        if (double_area_vector(soup.vertices[n], soup.vertices[n + 1], soup.vertices[n + 2])
                .norm() > 0.0) {
            soup.triangles.push_back({v, v + 1, v + 2});
        }
    }
    return soup;
}

}  // namespace

TEST_CASE("sound solids cross nowhere") {
    for (const TriMesh& mesh :
         {torus_solid(50, 15, 60).mesh, sphere_solid(30, 48).mesh, box_solid(1, 2, 3).mesh,
          subdivided(box_solid(10, 10, 10).mesh, 4), cone_solid(10, 30, 64).mesh}) {
        CHECK(found(mesh).empty());
    }
}

TEST_CASE("loose triangles: the pairs that CGAL's exact predicates give when all are tried") {
    std::mt19937 random(11);  // fixed seed
    for (const bool on_grid : {false, true}) {
        for (const double edge : {0.5, 2.0, 6.0}) {
            const TriMesh soup = random_soup(400, edge, random, on_grid);
            const std::vector<CrossingPair> pairs = found(soup);
            CHECK(pairs == oracle::crossing_pairs_one_by_one(soup));
            CHECK(!pairs.empty());
        }
    }
    // On a grid and welded, corners and edges are shared in all ways, and much lies in one plane.
    for (int round = 0; round < 4; ++round) {
        const TriMesh soup = oracle::welded(random_soup(300, 1.5 + round, random, true));
        CHECK(found(soup) == oracle::crossing_pairs_one_by_one(soup));
    }
}

TEST_CASE("crumpled solids: the pairs that CGAL's self_intersections gives") {
    std::mt19937 random(12);  // fixed seed
    for (const double reach : {0.2, 0.6, 2.0, 8.0}) {
        for (const TriMesh& sound :
             {torus_solid(50, 15, 60).mesh, subdivided(box_solid(30, 30, 30).mesh, 3)}) {
            TriMesh mesh = sound;
            std::uniform_real_distribution<double> shift(-reach, reach);
            for (Vec3& v : mesh.vertices) {
                v += Vec3(shift(random), shift(random), shift(random));
            }
            const std::vector<CrossingPair> pairs = found(mesh);
            CHECK(pairs == oracle::cgal_self_intersections(mesh));
            CHECK(pairs == found(mesh, 1));
        }
    }
    // Two solids that cross, and two that lie on one another.
    const TriMesh ball = sphere_solid(30, 48).mesh;
    const TriMesh two = joined(ball, transformed(ball, 1.0, Vec3(13, 7, 5)));
    CHECK(found(two) == oracle::cgal_self_intersections(two));
    CHECK(found(two).size() > 50);
    const TriMesh box = subdivided(box_solid(10, 10, 10).mesh, 2);
    const TriMesh stacked = joined(box, transformed(box, 1.0, Vec3(2.5, 0, 10)));
    CHECK(found(stacked) == oracle::cgal_self_intersections(stacked));
    CHECK(!found(stacked).empty());
}

TEST_CASE("a spike through the opposite wall, far from the origin") {
    TriMesh mesh = transformed(sphere_solid(30, 48).mesh, 1.0, Vec3(1e6, -2e6, 5e5));
    mesh.vertices[100] = Vec3(1e6, -2e6, 5e5) - 1.4 * (mesh.vertices[100] - Vec3(1e6, -2e6, 5e5));
    CHECK(found(mesh) == oracle::cgal_self_intersections(mesh));
    CHECK(!found(mesh).empty());
}
