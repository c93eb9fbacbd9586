// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/colored_part.h"

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("both files hold the part, a color for each vertex") {
    PlanRequest request;
    request.part.file = "sample_meshes/ships_bell.ply";
    request.part.units = parse_length_unit("mm");
    const Plan plan = make_plan(request, {.thin = true});
    const ColoredPart part = thickness_colored(plan);
    CHECK(part.ply.rfind("ply\n", 0) == 0);
    CHECK(part.ply.find("property uchar red") != std::string::npos);
    CHECK(part.glb.rfind("glTF", 0) == 0);
    CHECK(part.glb.find("COLOR_0") != std::string::npos);
    CHECK(part.yellow_mm == 3.0 * plan.thin->limit_mm);
}

TEST_CASE("density runs from the core's to the skin's, one value for each triangle and vertex") {
    PlanRequest request;
    request.part.file = "sample_meshes/ships_bell.ply";
    request.part.units = parse_length_unit("mm");
    const Plan plan = make_plan(request, {.foam = true, .density = true});
    const DensityColoredPart part = density_colored(plan);
    CHECK(part.ply.rfind("ply\n", 0) == 0);
    CHECK(part.glb.find("COLOR_0") != std::string::npos);
    CHECK(part.violet_kg_m3 == plan.foam->mass.core_density_kg_m3);
    CHECK(part.yellow_kg_m3 == plan.foam->mass.skin_density_kg_m3);
    const DensityMap& density = *plan.foam->density;
    CHECK(density.per_triangle_kg_m3.size() == plan.part->mesh().triangles.size());
    CHECK(density.per_vertex_kg_m3.size() == plan.part->mesh().vertices.size());
    CHECK(density.least_kg_m3 >= part.violet_kg_m3);
    CHECK(density.most_kg_m3 <= part.yellow_kg_m3);
    // The same places are thin and all skin whether thickness was asked for or not.
    const Plan both = make_plan(request, {.thin = true, .foam = true, .density = true});
    CHECK(both.foam->density->all_skin_area_mm2 == density.all_skin_area_mm2);
}
