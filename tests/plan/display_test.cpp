// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/display.h"

#include <numeric>
#include <unistd.h>

#include <doctest/doctest.h>
#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/molding/parting.h"
#include "cavigram/plan/plan.h"

#include "support/kept_plan.h"

using namespace cavigram;

TEST_CASE("a small part is shown as it is, with its thickness, views and outlines") {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    const Plan plan = kept_plan(request, {.thin = true, .air = true, .display = true});
    const DisplayBlock& shown = *plan.display;
    CHECK(shown.mesh.triangles.size() == plan.part->mesh().triangles.size());
    CHECK(shown.deviation_mm == 0.0);
    CHECK(shown.thickness_mm == plan.thin->map.per_vertex_mm);
    // As it stands for the pour: up is up, the long side across.
    CHECK(shown.front.up == plan.air->up);
    CHECK(shown.top.toward == plan.air->up);
    CHECK(std::abs(shown.front.right.x()) > 0.99);
    CHECK(shown.top_outline.loops.size() == 1);
    // Between its two feet one can see through the cleat.
    CHECK(shown.front_outline.loops.size() == 2);
}

TEST_CASE("a large part is shown with fewer triangles, which stay near its surface") {
    const auto folder =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_display_{}", getpid());
    make_folder(folder);
    write_file(folder / "torus.stl", stl_bytes(torus_solid(50, 15, 400).mesh));
    PlanRequest request;
    request.part.file = folder / "torus.stl";
    request.part.units = parse_length_unit("mm");
    const Plan plan = kept_plan(request, {.thin = true, .display = true});
    std::filesystem::remove_all(folder);
    CHECK(plan.part->mesh().triangles.size() == 160'000);
    CHECK(plan.display->mesh.triangles.size() <= kShownTriangles);
    CHECK(plan.display->deviation_mm > 0.0);
    CHECK(plan.display->deviation_mm < 0.1);
    CHECK(plan.display->thickness_mm.size() == plan.display->mesh.vertices.size());
}

TEST_CASE("where halves part across triangles, the side told at the vertices is 0 on the line") {
    // A ball turned off its rings of vertices: its best line is the great circle across the pull,
    // through triangles.
    TriMesh ball = sphere_solid(40.0, 48).mesh;
    const Vec3 pull = Vec3(0.3, 0.5, 0.8).normalized();
    const TriangleBvh surface(ball);
    const Parting found = parting(parting_surface(ball), surface, pull);
    REQUIRE(found.smooth);
    const ShownHalves halves = shown_halves(ball, ball, found, surface);
    REQUIRE(halves.side.size() == ball.vertices.size());
    const double triangle_mm = 8.0;  // no edge is longer: 2 pi 40 / 48, and a diagonal
    for (std::size_t v = 0; v < ball.vertices.size(); ++v) {
        CHECK(halves.side[v] == doctest::Approx(found.field[v]).epsilon(1e-9));
        const double height_mm = ball.vertices[v].dot(pull);
        if (std::abs(height_mm) > triangle_mm) {
            CHECK((halves.side[v] > 0.0) == (height_mm > 0.0));
        }
    }
    // Where an edge changes sides, the line crosses it: all its points lie where the field is 0.
    for (const PartingLoop& loop : found.line.loops) {
        for (const Vec3& p : loop.points_mm) {
            CHECK(std::abs(p.dot(pull)) < triangle_mm);
        }
    }
    // A coarser mesh to look at takes the sides of what lies next to it.
    const TriMesh coarse = sphere_solid(40.0, 32).mesh;
    const ShownHalves coarsely = shown_halves(coarse, ball, found, surface);
    REQUIRE(coarsely.side.size() == coarse.vertices.size());
    for (std::size_t v = 0; v < coarse.vertices.size(); ++v) {
        const double height_mm = coarse.vertices[v].dot(pull);
        if (std::abs(height_mm) > triangle_mm) {
            CHECK((coarsely.side[v] > 0.0) == (height_mm > 0.0));
        }
    }
}

TEST_CASE("where halves part along edges each triangle has one of them, and there is no side") {
    const TriMesh cube = box_solid(40, 30, 20).mesh;
    const TriangleBvh surface(cube);
    const Parting found = parting(parting_surface(cube), surface, Vec3::UnitZ(), {.smooth = false});
    const ShownHalves halves = shown_halves(cube, cube, found, surface);
    CHECK(halves.side.empty());
    REQUIRE(halves.upper.size() == cube.triangles.size());
    for (std::size_t t = 0; t < halves.upper.size(); ++t) {
        CHECK((halves.upper[t] == 1) == found.upper_face[t]);
    }
}

TEST_CASE("the first choice is planned for unless a way up is given; each row has its holes") {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    const Stages stages = {
        .foam = true, .air = true, .bench = true, .orient = true, .display = true};
    const Plan asked = kept_plan(request, stages);
    CHECK(asked.air->up == Vec3::UnitZ());
    request.air.up_given = false;
    const Plan best = kept_plan(request, stages);
    CHECK(best.air->up == best.orientations->rows.front().value.up);
    for (const RankedWayUp& row : best.orientations->rows) {
        CHECK(row.holes.pour_holes_mm.size() == 1);
        CHECK(row.holes.vents_mm.size() <= 3);
    }
    // The row of the way up that is planned for tells the holes that are drilled, and their air.
    const RankedWayUp& first = best.orientations->rows.front();
    CHECK(first.holes.pour_holes_mm.front() == best.air->openings.front().opening.place_mm);
    REQUIRE(first.holes.vents_mm.size() == best.air->vents.size());
    CHECK(first.value.vents_made == best.air->vents.size());
    CHECK(first.value.unvented_mm3 == best.air->unvented.total_mm3);
    CHECK(first.value.vented_mm3 == best.air->trapped_vented_mm3);
}
