// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/plan.h"

#include <set>

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

namespace {

PlanRequest cleat() {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    return request;
}

std::string refusal(const PlanRequest& request) {
    try {
        static_cast<void>(make_plan(request, {.foam = true}));
    } catch (const InvalidInput& error) {
        return error.what();
    }
    return "accepted";
}

}  // namespace

TEST_CASE("only the stages asked for run") {
    const Plan bare = make_plan(cleat(), {});
    CHECK_FALSE(bare.thin);
    CHECK_FALSE(bare.foam);
    CHECK_FALSE(bare.batch);
    CHECK_FALSE(bare.air);
    CHECK(bare.cautions.empty());
    const Plan air = make_plan(cleat(), {.air = true});
    CHECK(air.air);
    CHECK_FALSE(air.foam);
    CHECK_FALSE(air.cautions.empty());
}

TEST_CASE("a goal density weighs density times volume; grams follow") {
    PlanRequest request = cleat();
    request.foam.density_kg_m3 = 128.1477;
    const Plan plan = make_plan(request, {.foam = true});
    CHECK_NEAR(plan.foam->mass.part_mass_g, 128.1477e-6 * plan.measures.mass.volume_mm3, 1e-9);
    CHECK_NEAR(plan.foam->mass.skin_mass_g + plan.foam->mass.core_mass_g,
               plan.foam->mass.part_mass_g, 1e-12);
    CHECK_NEAR(plan.batch->pour_mass_g, plan.foam->mass.part_mass_g / 0.9, 1e-12);
    CHECK(plan.foam->mass.part_mass_low_g <= plan.foam->mass.part_mass_g);
    CHECK(plan.foam->mass.part_mass_high_g >= plan.foam->mass.part_mass_g);
}

TEST_CASE("the card's own basis is free rise: the skin comes on top") {
    const Plan plan = make_plan(cleat(), {.foam = true});
    CHECK(plan.foam->mass.basis == DensityBasis::free_rise);
    CHECK(*plan.foam->mass.packing_factor > 1.0);
    CHECK(plan.foam->mass.part_mass_low_g < plan.foam->mass.part_mass_g);
    std::set<std::string> codes;
    for (const Finding& finding : plan.findings) {
        codes.insert(finding.code);
    }
    CHECK(codes.count("typical_foam") == 1);
}

TEST_CASE("adding vents never adds air") {
    PlanRequest request = cleat();
    request.air.up = Vec3(0.3, 0.2, -1.0);
    double before = 1e300;
    for (int vents = 0; vents <= 4; ++vents) {
        request.air.most_vents = vents;
        const Plan plan = make_plan(request, {.air = true});
        CHECK(plan.air->trapped_vented_mm3 <= before * (1 + 1e-12));
        CHECK(static_cast<int>(plan.air->vents.size()) <= vents);
        for (const SizedVent& vent : plan.air->vents) {
            CHECK(vent.diameter_mm >= 2.0);
        }
        before = plan.air->trapped_vented_mm3;
    }
}

TEST_CASE("contradicting options are refused before the file is read") {
    PlanRequest request = cleat();
    request.part.file = "no such file";
    request.foam.overpack = 1.2;
    request.foam.skin_thickness_mm = 1.0;
    CHECK(refusal(request).find("--overpack and --skin-thickness") != std::string::npos);
    request.foam.overpack.reset();
    request.foam.basis = DensityBasis::core;
    CHECK(refusal(request).find("needs a --density") != std::string::npos);
    request.foam.basis.reset();
    request.foam.mix = MixRatio{70, 100};
    CHECK(refusal(request).find("outside the mixes") != std::string::npos);
}

TEST_CASE("a stop is heard, and progress names the stages") {
    std::stop_source source;
    RunContext context;
    context.stop = source.get_token();
    std::set<std::string> phases;
    context.progress = [&](std::string_view phase, double) {
        phases.insert(std::string(phase));
        if (phase == "skin") {
            source.request_stop();
        }
    };
    CHECK_THROWS_AS(static_cast<void>(make_plan(cleat(), {.foam = true}, context)), Cancelled);
    CHECK(phases.count("reading") == 1);
    CHECK(phases.count("skin") == 1);
}
