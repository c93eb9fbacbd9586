// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/display.h"

#include <numeric>
#include <unistd.h>

#include <doctest/doctest.h>
#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/io/mesh_writer.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/plan/plan.h"

using namespace cavigram;

TEST_CASE("a small part is shown as it is, with its thickness, views and outlines") {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    const Plan plan = make_plan(request, {.thin = true, .air = true, .display = true});
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
    const Plan plan = make_plan(request, {.thin = true, .display = true});
    std::filesystem::remove_all(folder);
    CHECK(plan.part->mesh().triangles.size() == 160'000);
    CHECK(plan.display->mesh.triangles.size() <= kShownTriangles);
    CHECK(plan.display->deviation_mm > 0.0);
    CHECK(plan.display->deviation_mm < 0.1);
    CHECK(plan.display->thickness_mm.size() == plan.display->mesh.vertices.size());
}

TEST_CASE("the first choice is planned for unless a way up is given; each row has its holes") {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    const Stages stages = {
        .foam = true, .air = true, .bench = true, .orient = true, .display = true};
    const Plan asked = make_plan(request, stages);
    CHECK(asked.air->up == Vec3::UnitZ());
    request.air.up_given = false;
    const Plan best = make_plan(request, stages);
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
