// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/thin_regions.h"

#include <cmath>
#include <numbers>
#include <random>

#include "cavigram/core/error.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

ThinRegions thin_places(const TriMesh& mesh, const ThinOptions& options,
                        const ThicknessOptions& sampling = {.samples = 30000}) {
    const Adjacency adjacent = adjacency(mesh);
    return thin_regions(adjacent, thickness_map(mesh, adjacent, TriangleBvh(mesh), sampling),
                        options);
}

// An outline in x and z, counter-clockwise and with its ears in the given order, drawn out along y.
// A triangle for each ear on either end, two for each side.
TriMesh drawn_out(const std::vector<Vec2>& outline, const std::vector<Triangle>& ears,
                  double length) {
    TriMesh mesh;
    const auto n = static_cast<std::int32_t>(outline.size());
    for (const double y : {0.0, length}) {
        for (const Vec2& p : outline) {
            mesh.vertices.emplace_back(p.x(), y, p.y());
        }
    }
    for (std::int32_t i = 0; i < n; ++i) {
        const std::int32_t j = (i + 1) % n;
        mesh.triangles.push_back({i, n + j, j});
        mesh.triangles.push_back({i, n + i, n + j});
    }
    for (const Triangle& ear : ears) {
        mesh.triangles.push_back(ear);
        mesh.triangles.push_back({n + ear[0], n + ear[2], n + ear[1]});
    }
    double volume = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        volume += mesh.corner(t, 0).dot(mesh.corner(t, 1).cross(mesh.corner(t, 2)));
    }
    return volume < 0.0 ? flipped(mesh) : mesh;
}

// A block of 40 x 30 x 20 with a fin of 2 x 30 x 20 on top, in 28 triangles.
TriMesh block_with_fin() {
    return drawn_out({{0, 0}, {40, 0}, {40, 20}, {21, 20}, {21, 40}, {19, 40}, {19, 20}, {0, 20}},
                     {{0, 1, 3}, {1, 2, 3}, {0, 3, 6}, {0, 6, 7}, {3, 4, 5}, {3, 5, 6}}, 30.0);
}

// A block with two fins, 2 mm and 3 mm, 10 mm apart.
TriMesh block_with_two_fins() {
    return drawn_out({{0, 0},
                      {40, 0},
                      {40, 20},
                      {28, 20},
                      {28, 40},
                      {25, 40},
                      {25, 20},
                      {15, 20},
                      {15, 40},
                      {13, 40},
                      {13, 20},
                      {0, 20}},
                     {{0, 1, 2},
                      {0, 2, 3},
                      {0, 3, 6},
                      {3, 4, 5},
                      {3, 5, 6},
                      {0, 6, 7},
                      {0, 7, 10},
                      {7, 8, 9},
                      {7, 9, 10},
                      {0, 10, 11}},
                     30.0);
}

TriMesh bar(double angle, double length, double height) {
    const double half = length * std::tan(0.5 * angle);
    return drawn_out({{0, 0}, {length, -half}, {length, half}}, {{0, 1, 2}}, height);
}

}  // namespace

// docs/checks.md G-15: a 2 mm fin must be flagged under any limit above 2 mm.
TEST_CASE("a 2 mm fin is found under any limit above 2 mm, on coarse and fine meshes alike") {
    for (const int finer : {0, 3}) {
        const TriMesh mesh = subdivided(block_with_fin(), finer);
        REQUIRE(adjacency(mesh).closed());
        const TriangleBvh surface(mesh);
        for (const double limit : {2.01, 3.0, 6.0, 15.0}) {
            CAPTURE(finer);
            CAPTURE(limit);
            const ThinRegions found =
                thin_places(mesh, {.limit_mm = limit, .skin_mm = 1.5, .flow_gap_mm = 1.0});
            REQUIRE(found.regions.size() == 1);
            const ThinRegion& fin = found.regions[0];
            CHECK_NEAR(fin.thickness_mm, 2.0, 1e-6);
            CHECK_NEAR(fin.typical_mm, 2.0, 1e-6);
            CHECK_NEAR(fin.least_mm, 2.0, 0.06);
            CHECK_NEAR(fin.area_mm2, 2.0 * 20.0 * 30.0, 0.01);
            CHECK_NEAR(fin.volume_mm3, 2.0 * 20.0 * 30.0, 0.01);
            CHECK(fin.all_skin);
            CHECK_FALSE(fin.hard_to_fill);
            // The place is a point of the fin's face, on the triangle named.
            CHECK(surface.nearest(fin.at_mm).distance_mm < 1e-9);
            CHECK(std::abs(fin.at_mm.x() - 20.0) < 1.0 + 1e-9);
            CHECK(fin.at_mm.z() > 20.0);
            CHECK(TriangleBvh(TriMesh{mesh.vertices,
                                      {mesh.triangles[static_cast<std::size_t>(fin.triangle)]}})
                      .nearest(fin.at_mm)
                      .distance_mm < 1e-9);
        }
        CHECK(thin_places(mesh, {.limit_mm = 1.9}).regions.empty());
        // The block's own 20 mm come in only above 20: bottom and top without the fin's foot.
        const ThinRegions block = thin_places(mesh, {.limit_mm = 21.0});
        REQUIRE(block.regions.size() == 2);
        CHECK_NEAR(block.regions[0].area_mm2, 1200.0, 0.01);
        CHECK_NEAR(block.regions[1].area_mm2, 2.0 * 38.0 * 30.0, 0.02);
    }
}

TEST_CASE("edges, corners and tips are not thin places") {
    const ThinOptions limit{.limit_mm = 10.0};
    const Mat3 turn = Eigen::AngleAxisd(0.4, Vec3(1, 1, 0).normalized()).toRotationMatrix();
    CHECK(thin_places(box_solid(100.0, 60.0, 40.0).mesh, limit).regions.empty());
    CHECK(thin_places(rotated(subdivided(box_solid(50.0, 50.0, 50.0).mesh, 4), turn), limit)
              .regions.empty());
    CHECK(thin_places(cylinder_solid(20.0, 300.0, 96).mesh, limit).regions.empty());
    CHECK(thin_places(sphere_solid(30.0, 64).mesh, limit).regions.empty());
    CHECK(thin_places(torus_solid(50.0, 15.0, 64).mesh, limit).regions.empty());
    // Cone R30 H90 (docs/checks.md G-7): its tip is 37 degrees wide.
    CHECK(thin_places(cone_solid(30.0, 90.0, 96, 10).mesh, limit).regions.empty());
    // Bars of 40 and 60 degrees.
    CHECK(thin_places(bar(40.0 * pi / 180.0, 60.0, 50.0), limit).regions.empty());
    CHECK(thin_places(bar(60.0 * pi / 180.0, 60.0, 50.0), limit).regions.empty());
}

TEST_CASE("a blade is thin up to where it has the limit's thickness") {
    for (const double degrees : {6.0, 12.0, 20.0}) {
        const double angle = degrees * pi / 180.0;
        const ThinRegions found =
            thin_places(bar(angle, 80.0, 50.0), {.limit_mm = 4.0, .flow_gap_mm = 1.0});
        REQUIRE(found.regions.size() == 1);
        // 2 x tan(w/2) < 4, on both sides, over 50 mm.
        const double reach = 4.0 / (2.0 * std::tan(0.5 * angle));
        CHECK_NEAR(found.regions[0].area_mm2, 2.0 * reach * 50.0, 0.02);
        CHECK_NEAR(found.regions[0].typical_mm, 2.0, 0.03);
        CHECK(found.regions[0].hard_to_fill);
        CHECK_FALSE(found.regions[0].all_skin);
    }
}

TEST_CASE("two fins are two places, the worse first, and a place too small is only counted") {
    const TriMesh mesh = block_with_two_fins();
    REQUIRE(adjacency(mesh).closed());
    const ThinRegions found = thin_places(mesh, {.limit_mm = 4.0});
    REQUIRE(found.regions.size() == 2);
    CHECK_NEAR(found.regions[0].thickness_mm, 2.0, 1e-6);
    CHECK_NEAR(found.regions[1].thickness_mm, 3.0, 1e-6);
    for (const ThinRegion& fin : found.regions) {
        CHECK_NEAR(fin.area_mm2, 1200.0, 0.02);
    }
    CHECK_NEAR(found.regions[0].severity, 600.0, 0.02);
    CHECK_NEAR(found.regions[1].severity, 300.0, 0.02);
    const ThinRegions none = thin_places(mesh, {.limit_mm = 4.0, .least_area_mm2 = 1300.0});
    CHECK(none.regions.empty());
    CHECK(none.small.count == 2);
    CHECK_NEAR(none.small.area_mm2, 2400.0, 0.02);
    // Samples know their place.
    double area = 0.0;
    const Adjacency adjacent = adjacency(mesh);
    const ThicknessMap map = thickness_map(mesh, adjacent, TriangleBvh(mesh), {.samples = 30000});
    const ThinRegions again = thin_regions(adjacent, map, {.limit_mm = 4.0});
    for (std::size_t i = 0; i < map.samples.size(); ++i) {
        area += again.of_sample[i] == 0 ? map.samples[i].area_mm2 : 0.0;
        CHECK((again.of_sample[i] != 0 || map.samples[i].at_mm.x() < 16.0));
    }
    CHECK_NEAR(area, again.regions[0].area_mm2, 1e-12);
}

TEST_CASE("membranes under two pockets in one broad plate are two places") {
    // 20 x 10 x 4 squares of 3 mm; two pockets of 6 x 6 squares leave 1 square of 3 mm on top.
    std::vector<bool> filled(20 * 10 * 4, true);
    const auto at = [](int x, int y, int z) {
        return static_cast<std::size_t>(x + 20 * (y + 10 * z));
    };
    for (int z = 0; z < 3; ++z) {
        for (int y = 2; y < 8; ++y) {
            for (int x = 0; x < 20; ++x) {
                if ((x >= 2 && x < 8) || (x >= 12 && x < 18)) {
                    filled[at(x, y, z)] = false;
                }
            }
        }
    }
    const TriMesh mesh = transformed(polycube_solid(filled, 20, 10, 4).mesh, 3.0, Vec3::Zero());
    const ThinRegions found = thin_places(mesh, {.limit_mm = 4.0});
    REQUIRE(found.regions.size() == 2);
    for (const ThinRegion& membrane : found.regions) {
        CHECK_NEAR(membrane.thickness_mm, 3.0, 1e-6);
        // 18 x 18 mm on both sides. On top also a margin around the pocket: at e beside it the ball
        // touches the pocket's rim and is (e^2 + 9) / 3 thick, less than 4 for e < sqrt(3).
        const double margin = std::sqrt(3.0);
        CHECK_NEAR(membrane.area_mm2, 2.0 * 324.0 + 4.0 * 18.0 * margin + pi * margin * margin,
                   0.02);
    }
}

TEST_CASE("rods and thin shells are thin all over") {
    const ThinRegions square = thin_places(box_solid(2.0, 2.0, 60.0).mesh, {.limit_mm = 3.0});
    REQUIRE(square.regions.size() == 1);
    CHECK_NEAR(square.regions[0].thickness_mm, 2.0, 0.03);
    CHECK_NEAR(square.regions[0].area_mm2, 480.0, 0.03);
    const ThinRegions round = thin_places(cylinder_solid(1.5, 60.0, 24).mesh, {.limit_mm = 4.0});
    REQUIRE(round.regions.size() == 1);
    CHECK_NEAR(round.regions[0].typical_mm, 3.0, 0.02);
    const TriMesh shell = joined(sphere_solid(30.0, 64).mesh, flipped(sphere_solid(28.0, 64).mesh));
    const ThinRegions thin_shell = thin_places(shell, {.skin_mm = 1.5});
    CHECK(thin_shell.limit_mm == 3.0);
    REQUIRE(thin_shell.regions.size() == 1);
    CHECK_NEAR(thin_shell.regions[0].area_mm2, 4.0 * pi * (900.0 + 784.0), 0.01);
    CHECK_NEAR(thin_shell.regions[0].typical_mm, 2.0, 0.01);
    CHECK(thin_shell.regions[0].all_skin);
}

TEST_CASE("a rough plate is one place, not hundreds") {
    const std::vector<bool> filled(60 * 60 * 6, true);
    TriMesh mesh = transformed(polycube_solid(filled, 60, 60, 6).mesh, 0.5, Vec3::Zero());
    std::mt19937 random(4);  // fixed seed
    std::normal_distribution<double> normal(0.0, 0.05);
    for (Vec3& v : mesh.vertices) {
        v += Vec3(normal(random), normal(random), normal(random));
    }
    const ThinRegions found = thin_places(mesh, {.limit_mm = 4.0});
    REQUIRE(found.regions.size() == 1);
    CHECK_NEAR(found.regions[0].thickness_mm, 3.0, 0.06);
    CHECK_NEAR(found.regions[0].area_mm2, 1800.0, 0.05);  // roughness adds some area
}

TEST_CASE("a sliver of a scan is only counted, a needle is listed even under a generous limit") {
    const TriMesh sliver = box_solid(0.02, 2, 3).mesh;
    const ThinRegions folds = thin_places(sliver, {.limit_mm = 4.0, .flow_gap_mm = 4.0});
    CHECK(folds.regions.empty());
    CHECK(folds.small.count > 0);
    const TriMesh needle = cylinder_solid(0.75, 8, 48, 8).mesh;
    for (const double limit : {4.0, 20.0}) {
        CHECK(thin_places(needle, {.limit_mm = limit, .flow_gap_mm = 4.0}).regions.size() == 1);
    }
}

TEST_CASE("a limit is needed") {
    const TriMesh box = box_solid(1.0, 1.0, 1.0).mesh;
    CHECK_THROWS_AS(thin_places(box, {}), InvalidInput);
    CHECK_THROWS_AS(thin_places(box, {.limit_mm = 0.0}), InvalidInput);
    CHECK(thin_places(TriMesh{}, {.limit_mm = 1.0}).regions.empty());
}
