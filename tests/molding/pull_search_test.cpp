// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/pull_search.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/molding/locked_space.h"

#include "molding/shapes.h"
#include "support/near.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

PullSearch searched(const TriMesh& mesh, const PullSearchOptions& options = {.directions = 200}) {
    return search_pull(mesh, TriangleBvh(mesh), options);
}

double along(const PullSearch& found, const Vec3& axis) {
    return std::abs(found.rows.at(0).value.pull.dot(axis.normalized()));
}

}  // namespace

TEST_CASE("a ball comes off every way; ties go to the upright axis, and across the way up") {
    const TriMesh ball = sphere_solid(30, 64).mesh;
    const PullSearch found = searched(ball);
    CHECK(found.free_directions == found.looked_at);
    CHECK(found.rows.at(0).value.locked_mm3 == 0.0);
    CHECK(found.rows.at(0).value.valid);
    CHECK(found.rows.at(0).rank == 1);
    const PullSearch upright = searched(ball, {.directions = 200, .up = Vec3::UnitZ()});
    CHECK(upright.rows.at(0).value.upright < 0.1);
}

TEST_CASE("a ring is pulled along its axis, however it lies") {
    for (std::uint32_t seed = 1; seed < 4; ++seed) {
        const Mat3 turn = some_rotation(seed);
        const PullSearch found = searched(rotated(torus_solid(30, 10, 64).mesh, turn));
        CHECK(along(found, turn * Vec3::UnitZ()) > std::cos(5.0 * std::numbers::pi / 180.0));
        CHECK(found.rows[0].value.valid);
        CHECK(found.rows[0].value.shut_offs == 1);
        CHECK(found.rows[0].pareto);
    }
}

// Across its axis a dumbbell locks nothing; a T-slot only along itself.
TEST_CASE("undercuts are avoided where they can be") {
    const PullSearch bell = searched(dumbbell(64).mesh);
    CHECK(along(bell, Vec3::UnitZ()) < 0.1);
    CHECK(bell.rows[0].value.locked_mm3 <= bell.tolerance_mm3);
    const PullSearch slot = searched(subdivided(t_slot(), 2));
    CHECK(along(slot, Vec3::UnitY()) > 0.999);
    CHECK(slot.rows[0].value.stretch == 0.0);
    // The axes themselves, not what lies a little beside them.
    CHECK(slot.rows[0].value.pull == Vec3::UnitY());
}

// A plate with five T-slots that run 10 degrees off the axis y. Its length along them being less
// than its width, the axes of its extent stay nearer to those of the coordinates.
TEST_CASE("what is free a little beside an axis is found beside it") {
    std::vector<Vec2> outline = {{-110, 0}, {110, 0}, {110, 24}};
    for (int slot = 2; slot >= -2; --slot) {
        const double x = 40.0 * slot;
        for (const Vec2& p : {Vec2(6, 24), Vec2(6, 16), Vec2(14, 16), Vec2(14, 10), Vec2(-14, 10),
                              Vec2(-14, 16), Vec2(-6, 16), Vec2(-6, 24)}) {
            outline.emplace_back(x + p.x(), p.y());
        }
    }
    outline.emplace_back(-110, 24);
    TriMesh plate = prism(outline, 120.0);
    const double lean = std::tan(10.0 * std::numbers::pi / 180.0);
    for (Vec3& v : plate.vertices) {
        v.x() += lean * v.y();
    }
    const PullSearch found = searched(subdivided(plate, 2), {});
    CHECK(along(found, Vec3(lean, 1.0, 0.0)) > std::cos(3.0 * std::numbers::pi / 180.0));
    CHECK(found.rows[0].value.stretch == 0.0);
    CHECK(found.rows[0].value.valid);
}

TEST_CASE("a pull that is given is the one row, by the same measures") {
    const TriMesh mesh = subdivided(dumbbell(48).mesh, 1);
    const PullSearch all = searched(mesh, {.directions = 200, .measured = 0});
    const PullSearch one = searched(mesh, {.measured = 0, .only = Vec3(0.0, 0.0, -2.0)});
    REQUIRE(one.rows.size() == 1);
    CHECK(one.rows[0].rank == 1);
    CHECK(one.rows[0].value.pull == Vec3(-Vec3::UnitZ()));
    for (const RankedPull& row : all.rows) {
        if (row.value.pull == Vec3::UnitZ()) {
            CHECK(row.value.stretch == doctest::Approx(one.rows[0].value.stretch));
            CHECK(row.value.locked_mm3 == doctest::Approx(one.rows[0].value.locked_mm3));
        }
    }
    // The line as a person would draw it: no place of it far from the full one.
    REQUIRE(one.rows[0].line_mm.size() == static_cast<std::size_t>(one.rows[0].value.loops));
    double length = 0.0;
    for (const std::vector<Vec3>& loop : one.rows[0].line_mm) {
        for (std::size_t i = 0; i < loop.size(); ++i) {
            length += (loop[(i + 1) % loop.size()] - loop[i]).norm();
        }
    }
    CHECK_NEAR(length, one.rows[0].value.length_mm, 0.02);
    CHECK(refusal_of([&] { return searched(mesh, {.only = Vec3(Vec3::Zero())}); }) ==
          "The pull direction must not be zero.");
}

// The first is one that was measured on the full mesh, in finer columns: its figures are those that
// are found there.
TEST_CASE("what is put first was measured on the full mesh") {
    const TriMesh mesh = bumpy_ball(30, 4, 4, 0.4, 0.02, 5);
    const PullSearch found = searched(mesh, {.directions = 100, .proxy_triangles = 1000});
    REQUIRE(found.proxy_triangles < mesh.triangles.size());
    const RankedPull& first = found.rows.at(0);
    REQUIRE(first.measured);
    const ColumnCut cut = cut_columns(mesh, first.value.pull, {.across = 192});
    CHECK(first.value.locked_mm3 == locked_space(cut, {.most_pockets = 8}).volume_mm3);
    CHECK(std::count_if(found.rows.begin(), found.rows.end(),
                        [](const RankedPull& row) { return row.measured; }) >= 4);
    const PullSearch none =
        searched(mesh, {.directions = 100, .measured = 0, .proxy_triangles = 1000});
    CHECK_FALSE(none.rows.at(0).measured);
}

TEST_CASE("flash keeps off the show side where another pull is as good") {
    // A slab that is seen on its top: parted around its sides the line is off it.
    const TriMesh slab = subdivided(box_solid(100, 100, 40).mesh, 3);
    const PullSearch found =
        searched(slab, {.directions = 200, .show = ShowSide{.toward = Vec3::UnitX()}});
    CHECK(found.rows.at(0).value.show_share < 0.3);
    const PartingSurface surface = parting_surface(slab);
    std::vector<bool> upper;
    for (std::size_t t = 0; t < slab.triangles.size(); ++t) {
        upper.push_back((slab.corner(t, 0) + slab.corner(t, 1) + slab.corner(t, 2)).z() > 60.0);
    }
    // A ring around four alike sides: a quarter of it on one.
    const PartingLine line = line_along_edges(surface, upper, Vec3::UnitZ());
    CHECK_NEAR(share_on_show(line, slab, {.toward = Vec3::UnitX()}), 0.25, 0.01);
    CHECK(share_on_show(line, slab, {.toward = Vec3::UnitZ()}) == 0.0);
    CHECK_NEAR(share_on_show(line, slab, {.box_mm = Box3(Vec3(-1, -1, -1), Vec3(50, 101, 41))}),
               0.5, 0.03);
}

TEST_CASE("the same for any number of threads; what can't be asked") {
    const TriMesh mesh = bumpy_ball(30, 3, 4, 0.4, 0.02, 5);
    const TriangleBvh index(mesh);
    RunContext context;
    context.threads = 1;
    const PullSearch one = search_pull(mesh, index, {.directions = 100}, context);
    context.threads = 3;
    const PullSearch three = search_pull(mesh, index, {.directions = 100}, context);
    REQUIRE(one.rows.size() == three.rows.size());
    for (std::size_t i = 0; i < one.rows.size(); ++i) {
        CHECK(one.rows[i].value.pull == three.rows[i].value.pull);
        CHECK(one.rows[i].value.length_mm == three.rows[i].value.length_mm);
        CHECK(one.rows[i].score == three.rows[i].score);
    }
    const PullSearch given = search_pull(
        mesh, decimated_proxy(mesh, index, {.triangles = PullSearchOptions{}.proxy_triangles}),
        {.directions = 100}, {});
    REQUIRE(given.rows.size() == one.rows.size());
    for (std::size_t i = 0; i < one.rows.size(); ++i) {
        CHECK(given.rows[i].value.pull == one.rows[i].value.pull);
        CHECK(given.rows[i].score == one.rows[i].score);
    }
    CHECK(refusal_of([&] { return search_pull(mesh, index, {.directions = 0}); }) ==
          "A search for the pull direction takes one direction or more.");
    CHECK(refusal_of([&] { return search_pull(mesh, index, {.up = Vec3(Vec3::Zero())}); }) ==
          "The way up must not be zero.");
}
