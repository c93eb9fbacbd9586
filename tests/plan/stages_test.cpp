// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/stages.h"

#include <doctest/doctest.h>

#include "cavigram/plan/plan.h"

#include "session_changes.h"

using namespace cavigram;

TEST_CASE("a whole plan has every block, and none of the cases that take as long again") {
    const Parts parts;
    PlanRequest request = small_request(parts.file("u.stl"));
    request.air.up_given = false;
    const Plan plan = make_plan(request, kWholePlan);
    REQUIRE(plan.foam.has_value());
    REQUIRE(plan.rise.has_value());
    CHECK(plan.thin.has_value());
    CHECK(plan.foam->density.has_value());
    CHECK(plan.air.has_value());
    CHECK(plan.bench.has_value());
    CHECK(plan.handle.has_value());
    CHECK(plan.orientations.has_value());
    CHECK(plan.mold.has_value());
    CHECK(plan.split.has_value());
    CHECK(plan.display.has_value());
    CHECK(plan.rise->cases.empty());
}
