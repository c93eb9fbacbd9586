// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/arrangement.h"

#include <cmath>
#include <numbers>
#include <random>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/manifold.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/rounding_detail.h"

#include "support/near.h"
#include "support/oracles.h"
#include "support/ray_volume.h"
#include "support/tubes.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

Mat3 turn(double about_x, double about_z) {
    Mat3 x;
    x << 1, 0, 0, 0, std::cos(about_x), -std::sin(about_x), 0, std::sin(about_x), std::cos(about_x);
    Mat3 z;
    z << std::cos(about_z), -std::sin(about_z), 0, std::sin(about_z), std::cos(about_z), 0, 0, 0, 1;
    return z * x;
}

Arrangement arranged(const TriMesh& mesh, const RunContext& context = {}) {
    return arrange(mesh, std::vector<std::int32_t>(mesh.triangles.size(), 0), context);
}

double volume(const TriMesh& mesh) {
    return mass_properties(cut_to_manifold(mesh).mesh).volume_mm3;
}

// Closed, no pair that CGAL's predicates find, and of the Euler number expected.
void check_clean(const Arrangement& result, long euler) {
    REQUIRE(result.solved);
    CHECK(result.left == 0);
    const TriMesh mesh = cut_to_manifold(result.mesh).mesh;
    CHECK(adjacency(mesh).closed());
    CHECK(oracle::crossing_pairs_by_boxes(result.mesh).empty());
    CHECK(oracle::euler_number(mesh) == euler);
}

TriMesh boxes(const Vec3& shift, double factor = 1.0) {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    return joined(box, transformed(box, factor, shift));
}

}  // namespace

TEST_CASE("boxes that cross, lie flush, in each other or on each other: inclusion and exclusion") {
    const struct {
        Vec3 shift;
        double factor;
        double volume_mm3;
        long euler;
    } cases[] = {
        {{20, 20, 20}, 1.0, 2 * 64000.0 - 8000.0, 2},
        {{40, 10, 10}, 1.0, 128000.0, 2},
        {{0, 20, 0}, 1.0, 96000.0, 2},
        {{40, 0, 0}, 1.0, 128000.0, 2},
        {{0, 0, 0}, 1.0, 64000.0, 2},
        {{10, 10, 10}, 0.5, 64000.0, 2},
        {{0, 0, 10}, 0.5, 64000.0, 2},
        {{40, 40, 0}, 1.0, 128000.0, 4},
        {{30, 10, 10}, 0.5, 64000.0 + 4000.0, 2},
    };
    for (const auto& one : cases) {
        CAPTURE(one.shift.transpose());
        const Arrangement result = arranged(boxes(one.shift, one.factor));
        check_clean(result, one.euler);
        CHECK_NEAR(volume(result.mesh), one.volume_mm3, 1e-14);
    }
}

TEST_CASE("the other way around is no solid: a hollow reaching through its wall opens it") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const TriMesh bite = flipped(transformed(box, 0.5, Vec3(30, 10, 10)));
    const Arrangement result = arranged(joined(box, bite));
    check_clean(result, 2);
    CHECK_NEAR(volume(result.mesh), 64000.0 - 10.0 * 20.0 * 20.0, 1e-14);
    // By itself, too.
    CHECK(arranged(flipped(box)).mesh.triangles.empty());
}

TEST_CASE("two balls: the lens where they meet counts once") {
    // V = 2 (4/3) pi r^3 - pi (4 r + d) (2 r - d)^2 / 12, d the distance of the centers (the lens
    // of two equal balls, closed form). The balls are polyhedra of 192 sides: the share by which
    // they are smaller is about 1.1 pi^2 / n^2.
    const double r = 50.0;
    const double d = 30.0;
    const TriMesh ball = sphere_solid(r, 192).mesh;
    const Arrangement result =
        arranged(joined(ball, transformed(rotated(ball, turn(1.0, 2.0)), 1.0, Vec3(d, 0, 0))));
    check_clean(result, 2);
    const double truth =
        8.0 / 3.0 * pi * r * r * r - pi * (4.0 * r + d) * (2.0 * r - d) * (2.0 * r - d) / 12.0;
    CHECK(volume(result.mesh) < truth);
    CHECK_NEAR(volume(result.mesh), truth, 5e-4);
}

TEST_CASE("three cylinders: docs/checks.md G-12, and a rigid motion leaves the volume") {
    const double r = 10.0;
    const double h = 60.0;
    const int n = 256;
    const TriMesh one = transformed(cylinder_solid(r, h, n).mesh, 1.0, Vec3(0, 0, -h / 2));
    const TriMesh three =
        joined(joined(one, rotated(one, turn(pi / 2, 0.0))), rotated(one, turn(pi / 2, pi / 2)));
    // Three solids less their three pairs (16 r^3 / 3 each) and with what all three share.
    const double truth = 3 * pi * r * r * h - 16 * r * r * r + 8 * (2 - std::sqrt(2.0)) * r * r * r;
    const Arrangement result = arranged(three);
    check_clean(result, 2);
    // Circles of n sides are smaller by 2 pi^2 / 3 n^2.
    CHECK(volume(result.mesh) < truth);
    CHECK_NEAR(volume(result.mesh), truth, 2 * pi * pi / 3 / n / n);
    const Arrangement moved =
        arranged(transformed(rotated(three, turn(0.3, 1.1)), 1.0, Vec3(12.3, -4.5, 6.7)));
    check_clean(moved, 2);
    CHECK(moved.moved_mm < 1e-9 * h);
    CHECK_NEAR(volume(moved.mesh), volume(result.mesh), 1e-9);
}

TEST_CASE("a tube that runs through itself, against signed crossings along lines") {
    const TriMesh tube = tubes::figure_eight(60.0, 8.0, 240, 48);
    const Arrangement result = arranged(tube);
    CHECK(result.crossings > 100);
    // Where the tube passes through itself the two handles of its outline meet: a body of genus 2.
    check_clean(result, -2);
    CHECK_NEAR(volume(result.mesh), oracle::ray_volume(tube, 1500), 5e-4);
    CHECK(volume(result.mesh) < 0.99 * mass_properties(tube).volume_mm3);
}

TEST_CASE("crumpled polyhedra that cross all over, against signed crossings along lines") {
    std::mt19937_64 bits(7);  // fixed seed
    const auto unit = [&] { return static_cast<double>(bits() >> 11) * 0x1p-53; };
    for (int round = 0; round < 4; ++round) {
        TriMesh all;
        for (int i = 0; i < 6; ++i) {
            TriMesh ball = sphere_solid(20, 16).mesh;
            for (Vec3& v : ball.vertices) {
                v += 6.0 * Vec3(unit() - 0.5, unit() - 0.5, unit() - 0.5);
            }
            all = joined(std::move(all),
                         transformed(std::move(ball), 1.0, 40.0 * Vec3(unit(), unit(), unit())));
        }
        const Arrangement result = arranged(all);
        REQUIRE(result.solved);
        CHECK(result.left == 0);
        CHECK(oracle::crossing_pairs_by_boxes(result.mesh).empty());
        CHECK(adjacency(cut_to_manifold(result.mesh).mesh).closed());
        CHECK_NEAR(volume(result.mesh), oracle::ray_volume(all, 1200), 5e-4);
    }
}

TEST_CASE("the same bytes for any number of threads") {
    const TriMesh tube = tubes::figure_eight(60.0, 8.0, 120, 24);
    RunContext one;
    one.threads = 1;
    RunContext four;
    four.threads = 4;
    const Arrangement a = arranged(tube, one);
    const Arrangement b = arranged(tube, four);
    CHECK(a.mesh.vertices == b.mesh.vertices);
    CHECK(a.mesh.triangles == b.mesh.triangles);
}

TEST_CASE("triangles without area bound nothing; a surface that is open is left alone") {
    // One face of a box has a corner in the middle of an edge, filled by a triangle without area.
    TriMesh box = box_solid(40, 40, 40).mesh;
    const Triangle first = box.triangles.front();
    const auto middle = static_cast<std::int32_t>(box.vertices.size());
    box.vertices.emplace_back(0.5 * (box.corner(0, 0) + box.corner(0, 1)));
    box.triangles.front() = {first[0], middle, first[2]};
    box.triangles.push_back({middle, first[1], first[2]});
    box.triangles.push_back({first[0], first[1], middle});
    const Arrangement result = arranged(joined(box, transformed(box, 1.0, Vec3(20, 20, 20))));
    check_clean(result, 2);
    CHECK_NEAR(volume(result.mesh), 2 * 64000.0 - 8000.0, 1e-14);

    TriMesh open = boxes(Vec3(20, 20, 20));
    open.triangles.pop_back();
    CHECK_FALSE(arranged(open).solved);
}

TEST_CASE("what rounding leaves is counted, and its bound holds what it counts wrongly") {
    // Two boxes that overlap by less than the coarsest grid, and by no corner in common: no grid
    // parts or joins them. The overlap, counted twice, is known.
    const double depth = 40.0 * 0x1p-23;
    const TriMesh box = box_solid(40, 40, 40).mesh;
    TriMesh both = joined(box, transformed(box, 1.0, Vec3(40.0 - depth, 11.3, 7.7)));
    const std::size_t before = crossing_pairs(both, adjacency(both)).size();
    REQUIRE(before > 0);
    const Rounding left = settle_rounding(both, {});
    CHECK_FALSE(left.left.empty());
    CHECK(left.moved_mm > 0.0);
    const double twice =
        mass_properties(both).volume_mm3 - (128000.0 - depth * (40.0 - 11.3) * (40.0 - 7.7));
    CHECK(std::abs(twice) > 0.0);
    CHECK(std::abs(twice) <= left.left_mm3);
    // The bound is no more than the area of what crosses times the way that the corners moved.
    CHECK(left.left_mm3 <= 2.0 * 9600.0 * left.moved_mm * static_cast<double>(left.left.size()));

    // Boxes apart have none.
    TriMesh apart = joined(box, transformed(box, 1.0, Vec3(50, 0, 0)));
    const Rounding none = settle_rounding(apart, {});
    CHECK(none.left.empty());
    CHECK(none.left_mm3 == 0.0);
}
