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

TEST_CASE("walls are the same whether they are measured beside a rise or without one") {
    const Parts parts;
    PlanRequest request = small_request(parts.file("u.stl"));
    constexpr std::size_t kFew = 1000;
    request.rise.cells = kFew;
    Stages stages{.thin = true, .foam = true, .density = true, .air = true, .bench = true};
    const Plan alone = make_plan(request, stages);
    stages.rise = true;
    const Plan beside = make_plan(request, stages);
    stages.thin = false;
    const Plan density = make_plan(request, stages);
    REQUIRE(alone.foam->density.has_value());
    for (const Plan* const plan : {&beside, &density}) {
        REQUIRE(plan->rise.has_value());
        REQUIRE(plan->foam->density.has_value());
        CHECK(plan->foam->density->per_vertex_kg_m3 == alone.foam->density->per_vertex_kg_m3);
    }
    REQUIRE(beside.thin.has_value());
    CHECK(beside.thin->places.size() == alone.thin->places.size());
    CHECK(beside.findings.size() >= alone.findings.size());
}
