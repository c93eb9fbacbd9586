// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/json.h"

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "support/kept_plan.h"

using namespace cavigram;

namespace {

Plan planned(const Stages& stages) {
    PlanRequest request;
    request.part.file = "sample_meshes/ships_bell.ply";
    request.part.units = parse_length_unit("mm");
    return kept_plan(request, stages);
}

}  // namespace

TEST_CASE("the contract: a block for each stage that ran, numbers as computed") {
    const Plan plan = planned({.thin = true, .foam = true, .air = true});
    const auto json = nlohmann::json::parse(json_text(plan));
    CHECK(json["schema"] == "cavigram/1");
    CHECK(json["input"]["triangles"] == 23328);
    CHECK(json["repair"]["verdict"] == "sound");
    CHECK(json["measures"]["volume_mm3"].get<double>() == plan.measures.mass.volume_mm3);
    CHECK(json["foam"]["part_mass_g"].get<double>() == plan.foam->mass.part_mass_g);
    CHECK(json["batch"]["part_a_g"].get<double>() == plan.foam->batch.part_a_g);
    CHECK(json["air"]["openings"].size() == plan.air->openings.size());
    CHECK(json["air"]["pockets"].size() == plan.air->unvented.pockets.size());
    CHECK(json["thin"]["regions"].size() == plan.thin->places.size());
    CHECK(json["cautions"].size() == plan.cautions.size());
    const auto bare = nlohmann::json::parse(json_text(planned({})));
    for (const char* absent : {"thin", "foam", "batch", "air"}) {
        CHECK_FALSE(bare.contains(absent));
    }
}

TEST_CASE("a file name that is no valid text does no harm") {
    Plan plan = planned({});
    plan.input.file = "bell\xff\xfe\"<b>.ply";
    const auto json = nlohmann::json::parse(json_text(plan));
    CHECK(json["input"]["file"].get<std::string>().find("<b>") != std::string::npos);
}
