// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/colored_part.h"

#include <limits>

#include <doctest/doctest.h>

#include "support/kept_plan.h"

using namespace cavigram;

TEST_CASE("both files hold the part, a color for each vertex") {
    PlanRequest request;
    request.part.file = "sample_meshes/ships_bell.ply";
    request.part.units = parse_length_unit("mm");
    const Plan plan = kept_plan(request, {.thin = true});
    const ColoredPart part = thickness_colored(plan);
    CHECK(part.ply.rfind("ply\n", 0) == 0);
    CHECK(part.ply.find("property uchar red") != std::string::npos);
    CHECK(part.glb.rfind("glTF", 0) == 0);
    CHECK(part.glb.find("COLOR_0") != std::string::npos);
    const ColorEnds ends = thickness_ends(plan);
    CHECK(ends.share(0.0) == 0.0);
    CHECK(ends.share(3.0 * plan.thin->limit_mm) == 1.0);
    CHECK(ends.share(1.5 * plan.thin->limit_mm) == doctest::Approx(0.5).epsilon(1e-12));
}

TEST_CASE("density runs from the skin's to the core's, one value for each triangle and vertex") {
    PlanRequest request;
    request.part.file = "sample_meshes/ships_bell.ply";
    request.part.units = parse_length_unit("mm");
    const Plan plan = kept_plan(request, {.foam = true, .density = true});
    const ColoredPart part = density_colored(plan);
    CHECK(part.ply.rfind("ply\n", 0) == 0);
    CHECK(part.glb.find("COLOR_0") != std::string::npos);
    // Dark asks for attention: it is the skin, as it is the thin wall.
    const ColorEnds ends = density_ends(plan);
    CHECK(ends.violet == plan.foam->mass.skin_density_kg_m3);
    CHECK(ends.yellow == plan.foam->mass.core_density_kg_m3);
    CHECK(ColorEnds{3.0, 3.0}.share(3.0) == 1.0);
    const DensityMap& density = *plan.foam->density;
    CHECK(density.per_triangle_kg_m3.size() == plan.part->mesh().triangles.size());
    CHECK(density.per_vertex_kg_m3.size() == plan.part->mesh().vertices.size());
    CHECK(density.least_kg_m3 >= ends.yellow);
    CHECK(density.most_kg_m3 <= ends.violet);
    // The same places are thin and all skin whether thickness was asked for or not.
    const Plan both = kept_plan(request, {.thin = true, .foam = true, .density = true});
    CHECK(both.foam->density->all_skin_area_mm2 == density.all_skin_area_mm2);
}

TEST_CASE("arrival runs from the last place to the first, one value for each vertex") {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    request.rise.cells = 5'000;
    const Plan plan = kept_plan(request, {.foam = true, .air = true, .bench = true, .rise = true});
    REQUIRE(plan.rise);
    const ColoredPart part = arrival_colored(plan);
    CHECK(part.ply.rfind("ply\n", 0) == 0);
    CHECK(part.glb.find("COLOR_0") != std::string::npos);
    CHECK(plan.rise->per_vertex_s.size() == plan.part->mesh().vertices.size());
    // Dark asks for attention: it is what comes last, or never.
    const ColorEnds ends = arrival_ends(plan);
    CHECK(ends.violet > ends.yellow);
    CHECK(ends.violet <= plan.rise->rise.gel_s);
    CHECK(ends.share(ends.violet) == 0.0);
    CHECK(ends.share(std::numeric_limits<double>::infinity()) == 0.0);
}
