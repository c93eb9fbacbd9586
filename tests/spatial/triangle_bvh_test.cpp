// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/triangle_bvh.h"

#include <chrono>
#include <cmath>
#include <cstdio>
#include <random>

#include "cavigram/geom/directions.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/solids.h"

#include "spatial/all_triangles.h"
#include "support/near.h"

using namespace cavigram;

TEST_CASE("the nearest point is the very one that trying all triangles gives, ties included") {
    for (const bool whole : {false, true}) {
        for (const int count : {1, 2, 3, 9, 60, 700}) {
            const TriMesh mesh = tangle(count, 3, whole);
            const TriangleBvh bvh(mesh);
            std::mt19937 random(5);  // fixed seed
            std::uniform_real_distribution<double> coordinate(-14.0, 14.0);
            std::int32_t hint = -1;
            for (int round = 0; round < 300; ++round) {
                Vec3 p(coordinate(random), coordinate(random), coordinate(random));
                if (whole && round % 2 == 0) {
                    p = p.array().round();
                }
                const double within =
                    round % 3 == 0 ? 2.0 : std::numeric_limits<double>::infinity();
                const NearestPoint expected = brute_nearest(mesh, p, within);
                const NearestPoint found = bvh.nearest(p, within);
                const NearestPoint hinted = bvh.nearest(p, within, hint);
                hint = static_cast<std::int32_t>(random() % mesh.triangles.size());
                CHECK(found.triangle == expected.triangle);
                CHECK(found.point_mm == expected.point_mm);
                CHECK(found.distance_mm == expected.distance_mm);
                CHECK(hinted.triangle == expected.triangle);
                CHECK(hinted.distance_mm == expected.distance_mm);
            }
        }
    }
}

TEST_CASE("near enough is within the tolerance, and without tolerance it is nearest") {
    // Seen from about the middle of a ball all of its surface is nearly as far.
    const TriMesh ball = sphere_solid(20.0, 48).mesh;
    const TriMesh mesh = joined(ball, tangle(200, 6, false));
    const TriangleBvh bvh(mesh);
    std::mt19937 random(15);  // fixed seed
    std::uniform_real_distribution<double> coordinate(-3.0, 3.0);
    for (int round = 0; round < 200; ++round) {
        const double reach = round % 2 == 0 ? 0.1 : 8.0;
        const Vec3 p = reach * Vec3(coordinate(random), coordinate(random), coordinate(random));
        const double least = brute_nearest(mesh, p, 1e30).distance_mm;
        for (const double tolerance : {0.0, 0.001, 0.05, 1.0}) {
            const NearestPoint found = bvh.near_enough(p, tolerance, round % 3 == 0 ? 5 : -1);
            CHECK(found.distance_mm >= least);
            CHECK(found.distance_mm <= least * (1.0 + tolerance) * (1.0 + 1e-15));
            CHECK((found.point_mm - p).norm() == found.distance_mm);
        }
    }
}

TEST_CASE("far from the origin, far from the part and on the part itself nothing changes") {
    const Vec3 shift(100000.0, -70000.0, 30000.0);
    const TriMesh mesh = transformed(sphere_solid(20.0, 24).mesh, 1.0, shift);
    const TriangleBvh bvh(mesh);
    std::mt19937 random(8);  // fixed seed
    std::normal_distribution<double> normal;
    for (int round = 0; round < 300; ++round) {
        const double reach = round % 3 == 0 ? 1e7 : round % 3 == 1 ? 15.0 : 1e-4;
        const std::size_t v = random() % mesh.vertices.size();
        const Vec3 p =
            mesh.vertices[v] + reach * Vec3(normal(random), normal(random), normal(random));
        const NearestPoint expected = brute_nearest(mesh, p, 1e30);
        const NearestPoint found = bvh.nearest(p);
        CHECK(found.triangle == expected.triangle);
        CHECK(found.distance_mm == expected.distance_mm);
        CHECK(bvh.nearest(mesh.vertices[v]).distance_mm == 0.0);
    }
}

TEST_CASE("the first hit is the least of all triangles' hits, and edges let no ray through") {
    const TriMesh mesh = joined(tangle(300, 21, false), tangle(100, 22, true));
    const TriangleBvh bvh(mesh);
    std::vector<TriangleBvh> single;
    for (const Triangle& t : mesh.triangles) {
        single.emplace_back(TriMesh{mesh.vertices, {t}});
    }
    std::mt19937 random(9);  // fixed seed
    std::uniform_real_distribution<double> coordinate(-14.0, 14.0);
    int hits = 0;
    for (int round = 0; round < 400; ++round) {
        const Vec3 origin(coordinate(random), coordinate(random), coordinate(random));
        Vec3 direction =
            0.5 * Vec3(coordinate(random), coordinate(random), coordinate(random)) - origin;
        if (round % 4 == 0) {
            direction = Vec3::Unit(round / 4 % 3) * (round % 8 == 0 ? 1.0 : -2.0);
        }
        RayLimits limits;
        limits.t_min = round % 5 == 0 ? 0.3 : 0.0;
        limits.t_max = round % 7 == 0 ? 1.0 : limits.t_max;
        RayHit expected;
        for (std::size_t t = 0; t < single.size(); ++t) {
            const RayHit hit = single[t].first_hit(origin, direction, limits);
            if (hit.triangle >= 0 && hit.t < expected.t) {
                expected = hit;
                expected.triangle = static_cast<std::int32_t>(t);
            }
        }
        const RayHit found = bvh.first_hit(origin, direction, limits);
        CHECK(found.triangle == expected.triangle);
        CHECK(found.t == expected.t);
        CHECK(found.sign == expected.sign);
        if (found.triangle >= 0) {
            ++hits;
            // The hit lies on its triangle, and the sign is that of the face.
            const auto t = static_cast<std::size_t>(found.triangle);
            const Vec3 at = origin + found.t * direction;
            const Vec3 near = closest_point_on_triangle(at, mesh.corner(t, 0), mesh.corner(t, 1),
                                                        mesh.corner(t, 2));
            CHECK((near - at).norm() < 1e-9);
            const double along =
                double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2))
                    .dot(direction);
            CHECK(found.sign == (along > 0.0 ? 1 : -1));
            // Passing over it gives something later.
            limits.skip_triangle = found.triangle;
            const RayHit next = bvh.first_hit(origin, direction, limits);
            CHECK(next.t >= found.t);
            CHECK(next.triangle != found.triangle);
        }
    }
    CHECK(hits > 100);

    const TriMesh ball = sphere_solid(10.0, 16).mesh;
    const TriangleBvh round_ball(ball);
    for (std::size_t t = 0; t < ball.triangles.size(); ++t) {
        for (int i = 0; i < 3; ++i) {
            const Vec3 a = ball.corner(t, i);
            const Vec3 b = ball.corner(t, (i + 1) % 3);
            for (const double s : {0.0, 0.1, 0.5, 1.0 / 3.0}) {
                const Vec3 target = a + s * (b - a);
                const Vec3 from(0.1, -0.2, 0.3);
                const RayHit hit = round_ball.first_hit(from, target - from);
                CHECK(hit.triangle >= 0);
                CHECK_NEAR(hit.t, 1.0, 1e-12);
                CHECK(hit.sign == 1);
            }
        }
    }
}

TEST_CASE(
    "close to edges, far from the origin and at any scale, nothing that is hit is sieved out") {
    // By definition: the signs of the three volumes that the ray spans with the edges, in extended
    // precision.
    using Wide = Eigen::Matrix<long double, 3, 1>;
    std::mt19937 random(10);  // fixed seed
    std::uniform_real_distribution<double> coordinate(-14.0, 14.0);
    std::uniform_real_distribution<double> share(0.0, 1.0);
    int hits = 0;
    for (const double scale : {1e-12, 1e-3, 1.0, 1e9}) {
        const Vec3 shift = scale == 1.0 ? Vec3(1e5, -7e4, 3e4) : Vec3::Zero();
        const TriMesh mesh = transformed(tangle(200, 23, false), scale, shift);
        const TriangleBvh bvh(mesh);
        for (int round = 0; round < 200; ++round) {
            const Vec3 origin =
                shift + scale * Vec3(coordinate(random), coordinate(random), coordinate(random));
            // At a point 1e-4, 1e-6 or 1e-8 of the height over an edge to either side of it.
            const std::size_t aim = random() % mesh.triangles.size();
            const Vec3& a = mesh.corner(aim, 0);
            const Vec3& b = mesh.corner(aim, 1);
            const double off = (round % 2 == 0 ? 1.0 : -1.0) * std::pow(10.0, -4 - 2 * (round % 3));
            const Vec3 direction =
                a + share(random) * (b - a) + off * (mesh.corner(aim, 2) - a) - origin;
            const Wide along = direction.cast<long double>();
            const double t_min = round % 5 == 0 ? 0.75 : 0.0;
            long double least = std::numeric_limits<long double>::infinity();
            bool told = true;  // by the signs, also with the roundings of double precision
            for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
                const std::array<Wide, 3> to{
                    mesh.corner(t, 0).cast<long double>() - origin.cast<long double>(),
                    mesh.corner(t, 1).cast<long double>() - origin.cast<long double>(),
                    mesh.corner(t, 2).cast<long double>() - origin.cast<long double>()};
                int sides = 0;
                for (std::size_t i = 0; i < 3; ++i) {
                    const Wide& next = to[(i + 1) % 3];
                    const long double volume = along.dot(to[i].cross(next));
                    told = told &&
                           std::abs(volume) > 1e-13L * along.norm() * to[i].norm() * next.norm();
                    sides += volume > 0.0L ? 1 : -1;
                }
                const Wide normal = (to[1] - to[0]).cross(to[2] - to[0]);
                const long double at = normal.dot(to[0]) / normal.dot(along);
                least = std::abs(sides) == 3 && at >= t_min ? std::min(least, at) : least;
            }
            if (!told) {
                continue;
            }
            const RayHit found = bvh.first_hit(origin, direction, {.t_min = t_min});
            CHECK((found.triangle >= 0) == std::isfinite(least));
            if (found.triangle >= 0) {
                ++hits;
                CHECK_NEAR(found.t, static_cast<double>(least), 1e-8);
            }
        }
    }
    CHECK(hits > 500);
}

TEST_CASE("triangles at a vertex are passed over when asked") {
    const TriMesh box = box_solid(1.0, 1.0, 1.0).mesh;
    const TriangleBvh bvh(box);
    RayLimits limits;
    limits.skip_vertex = 0;
    // From corner 0 straight across: without the skip it starts on its own faces.
    CHECK(bvh.first_hit(Vec3::Zero(), Vec3(1, 1, 1)).t == 0.0);
    CHECK_NEAR(bvh.first_hit(Vec3::Zero(), Vec3(1, 1, 1), limits).t, 1.0, 1e-15);
    CHECK(bvh.first_hit(Vec3::Zero(), Vec3(-1, -1, -1), limits).triangle == -1);
}

TEST_CASE(
    "the winding by rays is the winding by solid angles, also under corners and along edges") {
    // A box, a box inside it that is turned inside out (a hollow), and a second one that overlaps
    // the first.
    const TriMesh box = box_solid(8.0, 8.0, 8.0).mesh;
    TriMesh mesh = joined(box, flipped(transformed(box, 0.25, Vec3(3.0, 3.0, 3.0))));
    mesh = joined(mesh, transformed(box, 0.5, Vec3(6.0, 0.0, 0.0)));
    mesh = joined(mesh, transformed(torus_solid(5.0, 1.5, 24).mesh, 1.0, Vec3(0.0, 0.0, 12.0)));
    const TriangleBvh bvh(mesh);
    int seen[3] = {0, 0, 0};
    for (double x = -7.25; x < 11.0; x += 0.5) {
        for (double y = -7.25; y < 10.0; y += 0.5) {
            for (double z = -0.75; z < 15.0; z += 1.5) {
                // Columns on whole and half numbers run along walls and through corners of the
                // boxes; p itself stays off the horizontal faces, and is skipped when it lies in a
                // vertical one.
                const Vec3 p(x + 0.25, y + 0.25, z);
                if (bvh.nearest(p).distance_mm < 1e-9) {
                    continue;
                }
                const double angle = winding_number(mesh, p);
                const int expected = static_cast<int>(std::lround(angle));
                CHECK(std::abs(angle - expected) < 1e-9);
                CHECK(bvh.winding(p) == expected);
                ++seen[expected];
            }
        }
    }
    CHECK(seen[0] > 100);
    CHECK(seen[1] > 100);
    CHECK(seen[2] > 10);
}

TEST_CASE("an empty index answers nothing, and a part of no area answers what it can") {
    const TriangleBvh none;
    CHECK(none.nearest(Vec3::Zero()).triangle == -1);
    CHECK(none.first_hit(Vec3::Zero(), Vec3::UnitX()).triangle == -1);
    CHECK_FALSE(none.inside(Vec3::Zero()));
    // A hundred copies of one point: centers that can't be split.
    TriMesh dot;
    dot.vertices.assign(3, Vec3(1.0, 2.0, 3.0));
    dot.triangles.assign(100, Triangle{0, 1, 2});
    const TriangleBvh bvh(dot);
    CHECK(bvh.nearest(Vec3(1.0, 2.0, 5.0)).triangle == 0);
    CHECK(bvh.nearest(Vec3(1.0, 2.0, 5.0)).distance_mm == 2.0);
    CHECK(bvh.nearest(Vec3(1.0, 2.0, 5.0), 1.5).triangle == -1);
    CHECK(bvh.first_hit(Vec3::Zero(), Vec3(1.0, 2.0, 3.0)).triangle == -1);
}

TEST_CASE("an index built on any number of threads gives the same answers") {
    const TriMesh mesh = subdivided(torus_solid(40.0, 15.0, 64).mesh, 3);
    REQUIRE(mesh.triangles.size() > 100000);
    std::vector<TriangleBvh> built;
    for (const int threads : {1, 2, 5}) {
        RunContext context;
        context.threads = threads;
        built.emplace_back(mesh, context);
    }
    std::mt19937 random(13);  // fixed seed
    std::uniform_real_distribution<double> coordinate(-60.0, 60.0);
    for (int round = 0; round < 2000; ++round) {
        const Vec3 p(coordinate(random), coordinate(random), 0.4 * coordinate(random));
        const NearestPoint first = built[0].nearest(p);
        for (const TriangleBvh& other : built) {
            CHECK(other.nearest(p).triangle == first.triangle);
            CHECK(other.nearest(p).point_mm == first.point_mm);
        }
    }
}

TEST_CASE("triangles that shrink without end do not overrun the queries' stack") {
    // Sizes from 1e4 down to below single precision, all sharing a corner: the worst shape for
    // splits by area.
    TriMesh mesh;
    for (int i = 0; i < 3000; ++i) {
        const double size = 1e4 * std::pow(0.97, i);
        const auto first = static_cast<std::int32_t>(mesh.vertices.size());
        mesh.vertices.insert(mesh.vertices.end(),
                             {Vec3(0, 0, 0), Vec3(size, 0, 0), Vec3(0, size, size)});
        mesh.triangles.push_back({first, first + 1, first + 2});
    }
    const TriangleBvh bvh(mesh);
    for (const Vec3& p :
         {Vec3(1, 1, 1), Vec3(-1e-6, -1e-6, 0), Vec3(1e-20, 0, 0), Vec3(0, 2e4, 0)}) {
        const NearestPoint expected = brute_nearest(mesh, p, 1e30);
        CHECK(bvh.nearest(p).triangle == expected.triangle);
        CHECK(bvh.nearest(p).distance_mm == expected.distance_mm);
        CHECK(bvh.winding(p) >= 0);
    }
}

TEST_CASE("along a ray every triangle that it meets is shown") {
    for (const bool whole : {false, true}) {
        const TriMesh mesh = tangle(700, 5, whole);
        const TriangleBvh bvh(mesh);
        for (const Vec3& direction : {Vec3(0, 0, 1), Vec3(0.3, -2, 0.7), Vec3(1, 1, 0)}) {
            for (std::size_t v = 0; v < mesh.vertices.size(); v += 41) {
                const Vec3& origin = mesh.vertices[v];
                std::vector<int> shown(mesh.triangles.size(), 0);
                bvh.along(origin, direction, [&](std::int32_t t) {
                    ++shown[static_cast<std::size_t>(t)];
                    return std::numeric_limits<double>::infinity();
                });
                // Hits one by one: each triangle alone, so that nearer ones hide nothing.
                for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
                    TriMesh alone{mesh.vertices, {mesh.triangles[t]}};
                    CHECK(shown[t] <= 1);
                    if (TriangleBvh(alone).first_hit(origin, direction).triangle >= 0) {
                        CHECK(shown[t] == 1);
                    }
                }
            }
        }
    }
}

// Not a check: prints times. Run with: spatial_test --no-skip --test-case="times*"
TEST_CASE("times of queries, on one thread" * doctest::skip()) {
    using Clock = std::chrono::steady_clock;
    RunContext one;
    one.threads = 1;
    for (const int segments : {230, 914}) {
        TriMesh mesh = sphere_solid(1.0, segments).mesh;
        for (Vec3& v : mesh.vertices) {
            const Vec3 d = v;
            v = (100.0 + 20.0 * std::sin(3.0 * d.x() + 1.0) * std::cos(4.0 * d.y())) *
                d.cwiseProduct(Vec3(1.4, 1.0, 0.7));
        }
        Clock::time_point start = Clock::now();
        const auto since = [&] {
            return std::chrono::duration<double>(Clock::now() - start).count();
        };
        const TriangleBvh bvh(mesh, one);
        std::printf("| %zu | %.2f s |", mesh.triangles.size(), since());
        // Below the middle of each triangle in turn, as samples of a surface come.
        const auto each = [&](const auto& query) {
            constexpr std::size_t kQueries = 200'000;
            start = Clock::now();
            for (std::size_t i = 0; i < kQueries; ++i) {
                const std::size_t t = i % mesh.triangles.size();
                query(Vec3((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0),
                      static_cast<std::int32_t>(t));
            }
            std::printf(" %.2f us |", 1e6 * since() / static_cast<double>(kQueries));
        };
        double sum = 0.0;
        each([&](const Vec3& p, std::int32_t t) {
            sum += bvh.nearest(0.97 * p, 1e30, t).distance_mm;
        });
        each([&](const Vec3& p, std::int32_t t) {
            sum += bvh.nearest(0.7 * p, 1e30, t).distance_mm;
        });
        each([&](const Vec3& p, std::int32_t t) {
            sum += bvh.near_enough(0.7 * p, 0.01, t).distance_mm;
        });
        each([&](const Vec3& p, std::int32_t) { sum += bvh.first_hit(0.97 * p, -p).t; });
        each([&](const Vec3& p, std::int32_t) { sum += bvh.winding(0.97 * p); });
        std::printf("\n");
        CHECK(sum > 0.0);
    }
}
