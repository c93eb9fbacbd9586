// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/parting_loops.h"

#include <cmath>
#include <functional>
#include <numbers>

#include "molding/shapes.h"
#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

using Height = std::function<double(const Vec3&)>;

// By the side on which the middle of each face lies, or each vertex.
PartingLine by_faces(const TriMesh& mesh, const Height& height, const Vec3& pull) {
    std::vector<bool> upper;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        upper.push_back(height((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0) >
                        0.0);
    }
    return line_along_edges(parting_surface(mesh), upper, pull);
}

PartingLine by_field(const TriMesh& mesh, const Height& height, const Vec3& pull) {
    std::vector<double> field;
    for (const Vec3& v : mesh.vertices) {
        field.push_back(height(v));
    }
    return line_across_faces(parting_surface(mesh), field, pull);
}

const Vec3 kUp = Vec3::UnitZ();

}  // namespace

TEST_CASE("a ball in two: one loop around") {
    const TriMesh ball = sphere_solid(30, 180).mesh;
    const Height middle = [](const Vec3& p) { return p.z() - 1e-6; };
    for (const PartingLine& line : {by_faces(ball, middle, kUp), by_field(ball, middle, kUp)}) {
        CHECK(line.valid);
        CHECK(line.slits == 0);
        CHECK(line.shut_offs == 0);
        CHECK(line.wrapped == 0);
        REQUIRE(line.loops.size() == 1);
        CHECK_NEAR(line.loops[0].length_mm, 2 * std::numbers::pi * 30, 1e-3);
        CHECK_NEAR(line.loops[0].area_mm2, std::numbers::pi * 900, 1e-3);
        CHECK_FALSE(line.loops[0].through());
        CHECK(line.loops[0].faces.size() == line.loops[0].points_mm.size());
        CHECK(line.patches.at(static_cast<std::size_t>(line.loops[0].upper_patch)).upper);
        CHECK_FALSE(line.patches.at(static_cast<std::size_t>(line.loops[0].lower_patch)).upper);
    }
    // Upside down the loop still has the upper half on its left.
    CHECK(by_field(
              ball, [](const Vec3& p) { return -p.z() - 1e-6; }, -kUp)
              .loops[0]
              .area_mm2 > 0.0);
}

TEST_CASE("a lying ring has a loop around it and one around its hole, which is shut off") {
    const TriMesh ring = torus_solid(30, 10, 96).mesh;
    const Height middle = [](const Vec3& p) { return p.z() - 1e-6; };
    for (const PartingLine& line : {by_faces(ring, middle, kUp), by_field(ring, middle, kUp)}) {
        CHECK(line.valid);
        CHECK(line.shut_offs == 1);
        REQUIRE(line.loops.size() == 2);
        const std::size_t hole = line.loops[0].through() ? 0 : 1;
        CHECK_NEAR(line.loops[hole].length_mm, 2 * std::numbers::pi * 20, 1e-3);
        CHECK_NEAR(line.loops[1 - hole].length_mm, 2 * std::numbers::pi * 40, 1e-3);
    }
}

// It has genus + 1 loops as well, but both are outer ones: each half is a bow around which the
// other hooks.
TEST_CASE("an upright ring is no valid parting and takes two slits") {
    const TriMesh ring = torus_solid(30, 10, 96).mesh;
    const Height middle = [](const Vec3& p) { return p.x() - 1e-6; };
    for (const PartingLine& line :
         {by_faces(ring, middle, Vec3::UnitX()), by_field(ring, middle, Vec3::UnitX())}) {
        CHECK_FALSE(line.valid);
        CHECK(line.loops.size() == 2);
        CHECK(line.shut_offs == 0);
        CHECK(line.slits == 2);
    }
}

TEST_CASE("a handle on one side, a wrapped shell, a hollow, nothing at all") {
    // The line cuts a pole off a lying ring: the rest keeps the handle and has no loop for the
    // hole.
    const TriMesh ring = torus_solid(30, 10, 96).mesh;
    const Height cap = [](const Vec3& p) { return p.x() - 35; };
    for (const PartingLine& line : {by_faces(ring, cap, kUp), by_field(ring, cap, kUp)}) {
        CHECK_FALSE(line.valid);
        REQUIRE(line.loops.size() == 1);
        CHECK(line.patches.at(static_cast<std::size_t>(line.loops[0].lower_patch)).handles == 1);
        CHECK(line.slits == 1);
    }
    const TriMesh ball = sphere_solid(10, 48).mesh;
    const TriMesh two = joined(ball, transformed(ball, 1.0, Vec3(0, 0, 40)));
    const Height low = [](const Vec3& p) { return p.z() - 1e-6; };
    CHECK(by_field(two, low, kUp).wrapped == 1);
    CHECK_FALSE(by_faces(two, low, kUp).valid);
    const TriMesh hollow = joined(sphere_solid(30, 48).mesh, flipped(ball));
    CHECK(parting_surface(hollow).hollow == std::vector<bool>{false, true});
    const Height off = [](const Vec3& p) { return p.z() - 15; };
    CHECK(by_field(hollow, off, kUp).valid);
    CHECK(by_field(
              ball, [](const Vec3&) { return 1.0; }, kUp)
              .loops.empty());
    CHECK(by_field(
              ball, [](const Vec3&) { return 1.0; }, kUp)
              .wrapped == 1);
}

TEST_CASE("holes through a shell are counted by Euler's number") {
    CHECK(parting_surface(torus_solid(30, 10, 24).mesh).genus == std::vector<int>{1});
    const Solid frame = blocks(5, 3, 1, [](int x, int y, int) { return y != 1 || x % 2 == 0; });
    CHECK(parting_surface(frame.mesh).genus == std::vector<int>{2});
    CHECK_NEAR(parting_surface(frame.mesh).area_mm2.at(0), frame.area_mm2, 1e-12);
}

TEST_CASE("a thinned loop keeps its corners and strays no farther than asked") {
    std::vector<Vec3> square;
    for (int side = 0; side < 4; ++side) {
        for (int i = 0; i < 25; ++i) {
            const Vec3 from(side == 1 || side == 2 ? 10 : 0, side >= 2 ? 10 : 0, 0);
            const Vec3 way(side == 0   ? 1
                           : side == 2 ? -1
                                       : 0,
                           side == 1   ? 1
                           : side == 3 ? -1
                                       : 0,
                           0);
            square.emplace_back(from + 0.4 * i * way);
        }
    }
    CHECK(thinned_loop(square, 1e-9).size() == 4);
    std::vector<Vec3> round;
    for (int i = 0; i < 1000; ++i) {
        const double a = 2 * std::numbers::pi * i / 1000;
        round.emplace_back(20 * std::cos(a), 20 * std::sin(a), 0);
    }
    const std::vector<Vec3> fewer = thinned_loop(round, 0.05);
    // A chord strays by R (1 - cos(a / 2)): at least 45 of them.
    CHECK(fewer.size() >= 45);
    CHECK(fewer.size() < 120);
    for (std::size_t i = 0; i < fewer.size(); ++i) {
        CHECK(20 - (0.5 * (fewer[i] + fewer[(i + 1) % fewer.size()])).norm() <= 0.05 + 1e-9);
    }
    CHECK(thinned_loop({}, 1.0).empty());
}

TEST_CASE("how far a place lies from a loop") {
    const std::vector<Vec3> square = {{0, 0, 0}, {10, 0, 0}, {10, 10, 0}, {0, 10, 0}};
    CHECK(distance_to_loop_mm({5, -2, 0}, square) == doctest::Approx(2.0));
    CHECK(distance_to_loop_mm({-3, 5, 4}, square) ==
          doctest::Approx(5.0));  // the piece that closes
    CHECK(distance_to_loop_mm({13, 14, 0}, square) == doctest::Approx(5.0));
    CHECK(distance_to_loop_mm({1, 2, 3}, {Vec3(1, 2, 0)}) == doctest::Approx(3.0));
}
