// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/annotated_part.h"

#include <doctest/doctest.h>
#include <fmt/core.h>

#include "sheet_plan.h"

using namespace cavigram;

TEST_CASE("a node for the part and for each hole, and the same in one colored PLY") {
    const Plan& plan = sheet_plan();
    const AnnotatedPart part = annotated_part(plan);
    for (const char* name : {"\"part\"", "\"pour hole P\"", "\"vent 1\""}) {
        CHECK(part.glb.find(name) != std::string::npos);
    }
    CHECK(part.glb.find("\"vent 2\"") == std::string::npos);
    // A funnel of 24 sides has a tip, a ring and the middle of its lid; a rod of 16 two rings and
    // two middles.
    const std::size_t vertices = plan.part->mesh().vertices.size() + (1 + 24 + 1) + (2 * 16 + 2);
    CHECK(part.ply.find(fmt::format("element vertex {}\n", vertices)) != std::string::npos);
    CHECK(part.ply.find("property uchar red") != std::string::npos);
}

TEST_CASE("without air or thickness it is the plain part") {
    PlanRequest request;
    request.part.file = "sample_meshes/ships_bell.ply";
    request.part.units = parse_length_unit("mm");
    const Plan plan = make_plan(request, {});
    CHECK(annotated_part(plan).ply.find(fmt::format(
              "element vertex {}\n", plan.part->mesh().vertices.size())) != std::string::npos);
}

TEST_CASE("a plugged pour hole is shown and named so; one that is not there is not shown") {
    Plan plan = sheet_plan();
    plan.air->openings.front().opening.lets_air_out = false;
    CHECK(annotated_part(plan).glb.find("\"pour hole P, plugged\"") != std::string::npos);
    plan.air->openings.clear();
    CHECK(annotated_part(plan).glb.find("pour hole") == std::string::npos);
}
