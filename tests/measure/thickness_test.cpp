// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/thickness.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstdio>
#include <numbers>
#include <random>

#include "cavigram/core/error.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

ThicknessMap measured(const TriMesh& mesh, const ThicknessOptions& options = {},
                      const RunContext& context = {}) {
    return thickness_map(mesh, adjacency(mesh), TriangleBvh(mesh), options, context);
}

Mat3 some_rotation() {
    return Eigen::AngleAxisd(0.9, Vec3(1.0, 0.4, -2.0).normalized()).toRotationMatrix();
}

// A box of small squares, every vertex shaken.
TriMesh shaken_plate(const Vec3& size, double cell, double noise) {
    const Eigen::Vector3i n = (size / cell).array().round().matrix().cast<int>();
    const std::vector<bool> filled(static_cast<std::size_t>(n.prod()), true);
    TriMesh mesh = polycube_solid(filled, n.x(), n.y(), n.z()).mesh;
    std::mt19937 random(7);  // fixed seed
    std::normal_distribution<double> normal(0.0, 1.0);
    for (Vec3& v : mesh.vertices) {
        v = v.cwiseProduct(size.cwiseQuotient(n.cast<double>())) +
            noise * Vec3(normal(random), normal(random), normal(random));
    }
    return mesh;
}

// A triangular bar along z, its sharp edge on the z axis, its faces `angle` apart and symmetric
// about the x axis.
TriMesh wedge(double angle, double length, double height) {
    TriMesh mesh;
    for (const double z : {0.0, height}) {
        mesh.vertices.emplace_back(0.0, 0.0, z);
        mesh.vertices.emplace_back(length, -length * std::tan(0.5 * angle), z);
        mesh.vertices.emplace_back(length, length * std::tan(0.5 * angle), z);
    }
    mesh.triangles = {{0, 2, 1}, {3, 4, 5}, {0, 1, 4}, {0, 4, 3},
                      {1, 2, 5}, {1, 5, 4}, {2, 0, 3}, {2, 3, 5}};
    return mesh;
}

double brute_distance(const TriMesh& mesh, const Vec3& p) {
    double least = 1e300;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        least = std::min(least, (closest_point_on_triangle(p, mesh.corner(t, 0), mesh.corner(t, 1),
                                                           mesh.corner(t, 2)) -
                                 p)
                                    .norm());
    }
    return least;
}

}  // namespace

TEST_CASE("a slab of twelve triangles is exactly as thick as it is, and its margin is told apart") {
    const TriMesh mesh = rotated(box_solid(80.0, 60.0, 4.0).mesh, some_rotation());
    const ThicknessMap map = measured(mesh, {.samples = 20000});
    double faces = 0.0;
    double walls = 0.0;
    for (const ThicknessSample& sample : map.samples) {
        const Vec3 local = some_rotation().transpose() * sample.at_mm;
        if (local.z() > 1e-6 && local.z() < 4.0 - 1e-6) {
            continue;  // the narrow sides
        }
        faces += sample.area_mm2;
        CHECK_NEAR(sample.chord_mm, 4.0, 1e-12);
        CHECK_NEAR(wall_thickness_mm(sample), 4.0, 0.04);
        const double margin = std::min({local.x(), 80.0 - local.x(), local.y(), 60.0 - local.y()});
        if (margin > 2.0) {
            CHECK_NEAR(sample.thickness_mm, 4.0, 1e-9);
            CHECK(sample.contact == Contact::wall);
            walls += sample.area_mm2;
        } else {
            // A ball in the right angle between face and narrow side.
            CHECK_NEAR(sample.thickness_mm, 2.0 * margin, 0.065);
            CHECK((sample.contact == Contact::rim || sample.thickness_mm > 3.7));
        }
    }
    CHECK_NEAR(faces, 9600.0, 1e-9);
    CHECK_NEAR(walls, 2.0 * 76.0 * 56.0, 0.01);
    CHECK_NEAR(thickness_quantile_mm(map, 0.5), 4.0, 1e-9);
}

TEST_CASE("sphere, tube, cylinder and the gap between two spheres") {
    SUBCASE("sphere: 2R all over") {
        const ThicknessMap map = measured(sphere_solid(30.0, 96).mesh, {.samples = 8000});
        for (const ThicknessSample& sample : map.samples) {
            CHECK_NEAR(sample.thickness_mm, 60.0,
                       0.02);  // the ball may poke out of flat triangles near their corners
        }
        CHECK_NEAR(thickness_quantile_mm(map, 0.5), 60.0, 0.01);
    }
    SUBCASE("tube with a 3 mm wall") {
        const int sides = 180;
        const TriMesh mesh = revolved_solid({{17.0, 0.0}, {20.0, 0.0}, {20.0, 60.0}, {17.0, 60.0}},
                                            sides, ProfileEnds::ring)
                                 .mesh;
        for (const ThicknessSample& sample : measured(mesh, {.samples = 20000}).samples) {
            if (std::abs(sample.inward.z()) < 0.1 && sample.at_mm.z() > 2.0 &&
                sample.at_mm.z() < 58.0) {
                CHECK_NEAR(sample.thickness_mm, 3.0 * std::cos(pi / sides), 1e-3);
                CHECK(sample.contact == Contact::wall);
            }
        }
    }
    SUBCASE("cylinder: its diameter, docs/checks.md G-15") {
        const int sides = 180;
        for (const ThicknessSample& sample :
             measured(cylinder_solid(20.0, 300.0, sides).mesh, {.samples = 20000}).samples) {
            if (sample.at_mm.z() > 21.0 && sample.at_mm.z() < 279.0) {
                CHECK_NEAR(sample.thickness_mm, 40.0 * std::cos(pi / sides), 0.013);
            }
        }
    }
    SUBCASE("between two spheres") {
        const TriMesh mesh =
            joined(sphere_solid(30.0, 128).mesh, flipped(sphere_solid(26.0, 128).mesh));
        for (const ThicknessSample& sample : measured(mesh, {.samples = 20000}).samples) {
            CHECK_NEAR(sample.thickness_mm, 4.0, 2e-3);
            CHECK(sample.contact == Contact::wall);
        }
    }
}

TEST_CASE("a wedge of angle w is 2 x tan(w/2) thick at x from its edge") {
    for (const double degrees : {5.0, 10.0, 17.0, 20.0, 27.0, 45.0, 58.0}) {
        const double angle = degrees * pi / 180.0;
        int checked = 0;
        for (const ThicknessSample& sample :
             measured(wedge(angle, 60.0, 80.0), {.samples = 20000}).samples) {
            const double x = sample.at_mm.head<2>().norm();
            // Away from the ends and from the blunt side, whose own distance would hold the ball.
            const double across = 2.0 * x * std::tan(0.5 * angle);
            const bool free = sample.at_mm.x() + across < 59.0 && sample.at_mm.z() > across &&
                              sample.at_mm.z() < 80.0 - across && x > 0.01;
            if (free) {
                ++checked;
                // Within the relaxation a blunter wedge's margin is met late: wedges beyond 30
                // degrees are never walls.
                CHECK_NEAR(sample.thickness_mm, across, degrees < 30.0 ? 1e-3 : 0.04);
                CHECK((sample.contact == Contact::wall) == (degrees < 30.0));
            }
        }
        CHECK(checked > 500);
    }
}

TEST_CASE("the ball is the largest that fits, by bisection over all triangles") {
    // A body with concave corners, edges of all kinds and walls of 1 to 4.
    std::vector<bool> filled(5 * 4 * 3, false);
    for (int x = 0; x < 5; ++x) {
        for (int y = 0; y < 4; ++y) {
            for (int z = 0; z < 3; ++z) {
                filled[static_cast<std::size_t>(x + 5 * (y + 4 * z))] =
                    z == 0 || x == 1 || (y > 1 && x > 2);
            }
        }
    }
    const TriMesh mesh = rotated(polycube_solid(filled, 5, 4, 3).mesh, some_rotation());
    const ThicknessMap map = measured(mesh, {.samples = 600, .relaxation = 1e-6});
    for (const ThicknessSample& sample : map.samples) {
        // Balls that touch at one point are nested, so the free ones are those up to some radius.
        double low = 0.0;
        double high = 4.0;
        while (high - low > 1e-9) {
            const double r = 0.5 * (low + high);
            (brute_distance(mesh, sample.at_mm + r * sample.inward) >= r * (1.0 - 1e-9) ? low
                                                                                        : high) = r;
        }
        CHECK_NEAR(sample.thickness_mm, 2.0 * low, 2e-3);
    }
}

TEST_CASE("roughness of a hundredth of the thickness does not make a plate thin") {
    // Plate of 4 mm, squares of 0.5 mm, every coordinate of a vertex moved by s = 0.05 mm (normal).
    // What the ball between the faces may read, derived:
    // - Its own place lies on a triangle, h above the face: a mean of three vertices with weights
    //   whose squares add up to 1/2 on average, so h has the deviation s/sqrt(2) = 0.035.
    // - It never reaches beyond the far face straight across, a second h: the reading is at most
    // the
    //   chord, 4 mm with deviation s. So the quantiles lie at or below 4 - 2.33 s, 4 and 4 + 2.33
    //   s.
    // - Across it stops at the bump that stands highest above the ball's own curve x^2/(2 r), r =
    //   2 mm. At m or less with the chance prod Phi((m + x_i^2/(2 r))/s) over the vertices: 0.019
    //   in the median, 0.141 for 399 in 400 (wherever the ball stands over the squares). Within a
    //   flat triangle at most 0.125/(2 r) = 0.031 more. Median: no less than 4 - 0.019 - 0.031,
    //   less 0.01 as the bumps' mean lies above their median. Thickest percent: h above its 98th
    //   percentile, 0.073, and the bump below its median are independent and happen in 1 of 100: at
    //   least 4 + 0.073 - 0.05.
    // - Beside its own place a bump stops the ball if it cuts in by more than 6 % of r, 0.12 mm and
    //   what the ball curves away: 3.5 deviations at a triangle's middle, 2.6 at a vertex, so fewer
    //   than 1 in 200 places. Thinnest percent: 1/2 from that, 1/4 each from h below -2.81
    //   s/sqrt(2) = -0.099 and from a bump above 0.141 + 0.031: no less than 4 - 0.271.
    // With 8,000 independent vertices the share of a percent is sure to a third of it, 0.006 mm.
    // A strict ball reads 0.8 mm in the thinnest percent and 2.6 mm in the median.
    const TriMesh mesh = shaken_plate(Vec3(40.0, 40.0, 4.0), 0.5, 0.05);
    const auto check = [&](const ThicknessOptions& options) {
        const ThicknessMap map = measured(mesh, options);
        std::vector<double> inner;
        for (const ThicknessSample& sample : map.samples) {
            const Vec3& p = sample.at_mm;
            if (p.x() > 4.0 && p.x() < 36.0 && p.y() > 4.0 && p.y() < 36.0) {
                inner.push_back(sample.thickness_mm);
            }
        }
        std::sort(inner.begin(), inner.end());
        const auto quantile = [&](double share) {
            return inner[static_cast<std::size_t>(share * static_cast<double>(inner.size()))];
        };
        INFO(quantile(0.01), " ", quantile(0.5), " ", quantile(0.99));
        CHECK(quantile(0.01) >= 4.0 - 0.271);
        CHECK(quantile(0.01) <= 4.0 - 2.33 * 0.05 + 0.006);
        CHECK(quantile(0.5) >= 4.0 - 0.06);
        CHECK(quantile(0.5) <= 4.0);
        CHECK(quantile(0.99) >= 4.0 + 0.023 - 0.006);
        CHECK(quantile(0.99) <= 4.0 + 2.33 * 0.05 + 0.006);
    };
    check({});
    check({.noise_mm = 0.05});
}

TEST_CASE("how a surface is cut into triangles makes no difference") {
    const TriMesh coarse =
        rotated(joined(box_solid(50.0, 30.0, 3.0).mesh,
                       transformed(box_solid(9.0, 8.0, 7.0).mesh, 1.0, Vec3(0.0, 0.0, 40.0))),
                some_rotation());
    const ThicknessMap few = measured(coarse, {.samples = 40000});
    const ThicknessMap many = measured(subdivided(coarse, 5), {.samples = 40000});
    const auto share_below = [](const ThicknessMap& map, double limit) {
        double below = 0.0;
        double all = 0.0;
        for (const ThicknessSample& sample : map.samples) {
            below += sample.thickness_mm < limit ? sample.area_mm2 : 0.0;
            all += sample.area_mm2;
        }
        return below / all;
    };
    for (const double limit : {1.0, 2.0, 3.1, 5.0, 6.9}) {
        CHECK(std::abs(share_below(few, limit) - share_below(many, limit)) < 0.005);
    }
}

TEST_CASE(
    "every triangle and vertex has a value, also when there are more triangles than samples") {
    const TriMesh mesh = subdivided(box_solid(40.0, 40.0, 2.0).mesh, 5);
    REQUIRE(mesh.triangles.size() == 12288);
    const ThicknessMap map = measured(mesh, {.samples = 1000});
    CHECK(map.samples.size() <= 1001);
    REQUIRE(map.per_triangle_mm.size() == mesh.triangles.size());
    REQUIRE(map.per_vertex_mm.size() == mesh.vertices.size());
    double area = 0.0;
    for (const ThicknessSample& sample : map.samples) {
        area += sample.area_mm2;
    }
    CHECK_NEAR(area, 3520.0, 0.002);
    for (const double thickness : map.per_triangle_mm) {
        CHECK(thickness > 0.0);
        CHECK(thickness <= 2.0 + 1e-9);
    }
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        const Vec3& p = mesh.vertices[v];
        if (p.x() > 6.0 && p.x() < 34.0 && p.y() > 6.0 && p.y() < 34.0) {
            CHECK_NEAR(map.per_vertex_mm[v], 2.0, 1e-9);
        }
    }
}

TEST_CASE("thicker than the cap is given as the cap") {
    const TriMesh mesh =
        joined(box_solid(60.0, 60.0, 20.0).mesh,
               transformed(box_solid(30.0, 30.0, 2.0).mesh, 1.0, Vec3(100.0, 0.0, 0.0)));
    for (const ThicknessSample& sample : measured(mesh, {.cap_mm = 6.0, .samples = 5000}).samples) {
        CHECK(sample.thickness_mm <= 6.0);
        const bool inner = sample.at_mm.x() > 10.0 && sample.at_mm.x() < 50.0 &&
                           sample.at_mm.y() > 10.0 && sample.at_mm.y() < 50.0;
        if (inner) {
            CHECK(sample.thickness_mm == 6.0);
            CHECK(sample.contact == Contact::wall);
        }
        const bool on_plate = sample.at_mm.x() > 102.0 && sample.at_mm.x() < 128.0 &&
                              sample.at_mm.y() > 2.0 && sample.at_mm.y() < 28.0;
        if (on_plate) {
            CHECK_NEAR(sample.thickness_mm, 2.0, 1e-9);
        }
    }
}

TEST_CASE("any number of threads gives the same bytes") {
    const TriMesh mesh = shaken_plate(Vec3(20.0, 10.0, 4.0), 0.5, 0.03);
    std::vector<ThicknessMap> maps;
    for (const int threads : {1, 2, 5}) {
        RunContext context;
        context.threads = threads;
        maps.push_back(measured(mesh, {.samples = 10000}, context));
    }
    for (const ThicknessMap& other : maps) {
        CHECK(other.per_triangle_mm == maps[0].per_triangle_mm);
        CHECK(other.per_vertex_mm == maps[0].per_vertex_mm);
        REQUIRE(other.samples.size() == maps[0].samples.size());
        for (std::size_t i = 0; i < other.samples.size(); ++i) {
            CHECK(other.samples[i].thickness_mm == maps[0].samples[i].thickness_mm);
            CHECK(other.samples[i].opposite_mm == maps[0].samples[i].opposite_mm);
        }
    }
}

TEST_CASE("odd meshes and odd options") {
    CHECK(measured(TriMesh{}).samples.empty());
    CHECK(thickness_quantile_mm(measured(TriMesh{}), 0.5) == 0.0);
    TriMesh flat;  // two triangles back to back: no thickness, and no harm
    flat.vertices = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}};
    flat.triangles = {{0, 1, 2}, {0, 2, 1}};
    for (const double thickness : measured(flat, {.samples = 10}).per_triangle_mm) {
        CHECK(thickness == 0.0);
    }
    TriMesh point;
    point.vertices.assign(3, Vec3::Zero());
    point.triangles = {{0, 1, 2}};
    CHECK(measured(point).per_triangle_mm == std::vector<double>{0.0});
    const TriMesh box = box_solid(1.0, 1.0, 1.0).mesh;
    CHECK_THROWS_AS(measured(box, {.cap_mm = 0.0}), InvalidInput);
    CHECK_THROWS_AS(measured(box, {.samples = 0}), InvalidInput);
    CHECK_THROWS_AS(measured(box, {.relaxation = 1.0}), InvalidInput);
    CHECK_THROWS_AS(measured(box, {.noise_mm = -1.0}), InvalidInput);
}

// Not a check: prints times. Run with: measure_test --no-skip --test-case="times*"
TEST_CASE("times for the thickness of a lump" * doctest::skip()) {
    using Clock = std::chrono::steady_clock;
    for (const int segments : {230, 914}) {
        TriMesh mesh = sphere_solid(1.0, segments).mesh;
        for (Vec3& v : mesh.vertices) {
            const Vec3 d = v;
            const double r =
                100.0 * (1.0 + 0.2 * std::sin(3.0 * d.x() + 1.0) * std::cos(4.0 * d.y()) +
                         0.1 * std::sin(5.0 * d.z()));
            v = r * d.cwiseProduct(Vec3(1.4, 1.0, 0.7));
        }
        const Adjacency adjacent = adjacency(mesh);
        const TriangleBvh surface(mesh);
        for (const ThicknessOptions& options :
             {ThicknessOptions{.samples = 50'000}, ThicknessOptions{},
              ThicknessOptions{.cap_mm = 15.0}}) {
            double best = 1e9;
            std::size_t samples = 0;
            for (int round = 0; round < 5; ++round) {
                const Clock::time_point start = Clock::now();
                const ThicknessMap map = thickness_map(mesh, adjacent, surface, options);
                best = std::min(best, std::chrono::duration<double>(Clock::now() - start).count());
                samples = map.samples.size();
            }
            std::printf("| %zu | %zu | %s | %.2f s |\n", mesh.triangles.size(), samples,
                        options.cap_mm ? "15 mm" : "none", best);
        }
    }
}
