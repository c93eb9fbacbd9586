// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/gap_glance.h"

#include <cmath>
#include <numbers>
#include <random>

#include "cavigram/geom/directions.h"
#include "cavigram/molding/draft.h"
#include "cavigram/molding/locked_space.h"
#include "cavigram/molding/steep_walls_detail.h"

#include "molding/shapes.h"
#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

TEST_CASE("what is convex locks nothing, and a lying ring neither") {
    const TriMesh ball = sphere_solid(30, 64).mesh;
    const TriMesh cone = cone_solid(30, 90, 64).mesh;
    for (const Vec3& pull : sphere_directions(80)) {
        // What a float tells apart of the heights.
        CHECK(quick_gap_volume_mm3(ball, pull, 96) < 1e-6 * 4.0 / 3.0 * std::numbers::pi * 27000);
        CHECK(quick_gap_volume_mm3(cone, pull, 96) < 1e-6 * std::numbers::pi * 900 * 30);
    }
    CHECK(quick_gap_volume_mm3(torus_solid(30, 10, 128).mesh, Vec3::UnitZ(), 192) < 0.1);
}

// pi (2 R2 r - pi R r2 + 4 r3 / 3), as in locked_space_test.
TEST_CASE("an upright ring locks its hole, in closed form") {
    const double exact = std::numbers::pi * (18000 - std::numbers::pi * 3000 + 4000.0 / 3.0);
    CHECK_NEAR(quick_gap_volume_mm3(torus_solid(30, 10, 256).mesh, Vec3::UnitX(), 192), exact,
               0.005);
}

// The columns with exact predicates share only the grid with it. Corners that are rounded by 1/512
// of a column move walls by as much: 0.2 % of a column's width all along the border.
TEST_CASE("random blocks and a turned dumbbell, against exact columns") {
    std::mt19937 random(5);
    std::vector<TriMesh> meshes = {dumbbell(48).mesh, rotated(dumbbell(48).mesh, some_rotation(3)),
                                   stalagmite().mesh};
    for (int round = 0; round < 4; ++round) {
        meshes.push_back(
            rotated(blocks(5, 4, 4, [&](int, int, int) { return random() % 2 == 0; }).mesh,
                    some_rotation(static_cast<std::uint32_t>(round) + 7)));
    }
    for (const TriMesh& mesh : meshes) {
        for (const Vec3& pull : sphere_directions(20)) {
            const double exact = gap_volume_mm3(cut_columns(mesh, pull, {.across = 96}));
            const double size = bounds(mesh).volume();
            CHECK(std::abs(quick_gap_volume_mm3(mesh, pull, 96) - exact) < 2e-4 * size);
        }
    }
    // Along the axes columns run along walls.
    for (int axis = 0; axis < 3; ++axis) {
        const double exact =
            gap_volume_mm3(cut_columns(t_slot(), Vec3::Unit(axis), {.across = 96}));
        CHECK(quick_gap_volume_mm3(t_slot(), Vec3::Unit(axis), 96) == doctest::Approx(exact));
    }
}

TEST_CASE("one look for many pulls gives what each by itself gives, loose vertices or not") {
    TriMesh mesh = dumbbell(24).mesh;
    const GapGlance plain(mesh);
    TriMesh loose = mesh;
    loose.vertices.emplace_back(1000.0, 0.0, 0.0);
    const GapGlance glance(loose);
    const detail::SteepWalls walls(mesh, 3.0);
    for (const Vec3& pull : sphere_directions(20)) {
        const double each = quick_gap_volume_mm3(mesh, pull, 48);
        CHECK(plain.gap_volume_mm3(pull, 48) == each);
        CHECK(glance.gap_volume_mm3(pull, 48) == each);
        CHECK(walls.share(pull) == draft(mesh, pull).steep_share());
    }
}

TEST_CASE("what overlaps is told") {
    CHECK(overlap_share(dumbbell(48).mesh, 48) == 0.0);
    // Two cubes of 10 that share a slab of 2: 200 of 1,800.
    TriMesh two = box_solid(10, 10, 10).mesh;
    TriMesh other = two;
    for (Vec3& v : other.vertices) {
        v.x() += 8.0;
    }
    const auto offset = static_cast<std::int32_t>(two.vertices.size());
    two.vertices.insert(two.vertices.end(), other.vertices.begin(), other.vertices.end());
    for (const Triangle& t : other.triangles) {
        two.triangles.push_back({t[0] + offset, t[1] + offset, t[2] + offset});
    }
    CHECK_NEAR(overlap_share(two, 90), 200.0 / 1800.0, 0.02);
    CHECK(quick_gap_volume_mm3(TriMesh{}, Vec3::UnitX(), 8) == 0.0);
}
