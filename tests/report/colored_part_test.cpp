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
