// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/plan.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "cavigram/core/error.h"

#include "support/findings.h"
#include "support/kept_plan.h"
#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

constexpr double kLbFt3 = 16.018463374;  // kg/m3, docs/checks.md U1

bool has(const Plan& plan, FindingCode code) {
    return has_finding(plan.findings, code);
}

PlanRequest cleat() {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    return request;
}

std::string refusal(const PlanRequest& request) {
    return refusal_of([&] { return kept_plan(request, {.foam = true}); });
}

}  // namespace

TEST_CASE("only the stages asked for run") {
    const Plan bare = kept_plan(cleat(), {});
    CHECK_FALSE(bare.thin);
    CHECK_FALSE(bare.foam);
    CHECK_FALSE(bare.bench);
    CHECK_FALSE(bare.air);
    CHECK(bare.cautions.empty());
    const Plan air = kept_plan(cleat(), {.air = true});
    CHECK(air.air);
    CHECK_FALSE(air.foam);
    CHECK_FALSE(air.cautions.empty());
}

TEST_CASE("a goal density weighs density times volume; grams follow, and the books close") {
    PlanRequest request = cleat();
    request.foam.density_kg_m3 = 9.2 * kLbFt3;
    const Plan plan = kept_plan(request, {.foam = true});
    const FoamMass& mass = plan.foam->mass;
    CHECK_NEAR(mass.part_mass_g, 9.2e-6 * kLbFt3 * plan.measures.mass.volume_mm3, 1e-9);
    CHECK_NEAR(mass.skin_mass_g + mass.core_mass_g, mass.part_mass_g, 1e-12);
    const Balance& balance = plan.foam->batch.balance;
    CHECK(std::abs(balance.closes_to_g) < 1e-9);
    CHECK(balance.part_g == mass.part_mass_g);
    CHECK(balance.holes_g == plan.foam->holes.mass_g);
    CHECK(balance.holes_g > 0.0);
    CHECK_NEAR(plan.foam->batch.pour_mass_g, (mass.part_mass_g + balance.holes_g) / 0.9, 1e-12);
    // FM2: at the card's packing, 9.2 lb/ft3 is the firm mix itself.
    CHECK_NEAR(plan.foam->card.mix.a / plan.foam->card.mix.b, 0.5, 1e-9);
    CHECK_NEAR(mass.packing_factor, 1.15, 1e-9);
    CHECK(plan.foam->skin.closes_to_share < 1e-9);
    CHECK_NEAR(plan.foam->window.request.planned_g, mass.part_mass_g + balance.holes_g, 1e-12);
}

TEST_CASE(
    "the cleat at 8, 9, 10 and 13 lb/ft3: mix, packing, core, window (foam_model.md 1, FM3)") {
    struct Row {
        double lb_ft3, parts, packing;
    };
    // r and packing by hand: clamped at 50:100 up to 9.2 lb/ft3, then r from 1/density.
    const auto r_of = [](double lb_ft3) {
        const double rise = lb_ft3 / 1.15;
        return 100 * (0.5 + (0.3 - 0.5) * (1 / rise - 1 / 8.0) / (1 / 13.0 - 1 / 8.0));
    };
    for (const Row& row :
         {Row{8, 50, 1.0}, Row{9, 50, 9.0 / 8.0}, Row{10, 45.84, 1.15}, Row{13, r_of(13), 1.15}}) {
        PlanRequest request = cleat();
        request.foam.density_kg_m3 = row.lb_ft3 * kLbFt3;
        const Plan plan = kept_plan(request, {.foam = true});
        const FoamBlock& foam = *plan.foam;
        CAPTURE(row.lb_ft3);
        CHECK_NEAR(100 * foam.card.mix.a / foam.card.mix.b, row.parts, 1e-8);
        CHECK_NEAR(foam.mass.packing_factor, row.packing, 1e-8);
        CHECK_NEAR(foam.mass.core_density_kg_m3, foam.mass.free_rise_kg_m3, 1e-12);
        CHECK(foam.mass.core_density_kg_m3 >= 8 * kLbFt3 * (1 - 1e-9));
        CHECK(foam.mixes.chosen);
        CHECK(foam.mixes.clamped == (row.lb_ft3 < 9.2));
        CHECK_FALSE(has_stop(plan));
        CHECK(has(plan, "may_fall_short") == (row.lb_ft3 == 8));
        CHECK_FALSE(has(plan, "high_pressure"));
        // The other way to the same density, where there is one.
        CHECK(foam.mixes.other.has_value() == (row.lb_ft3 > 9.2));
        if (foam.mixes.other) {
            CHECK(foam.mixes.other->firmer);
            CHECK_NEAR(foam.mixes.other->packing_factor, row.lb_ft3 / 8, 1e-9);
            CHECK(foam.mixes.other->pressure_kpa > foam.window.pressure_kpa);
        }
    }
}

TEST_CASE("a fixed mix is packed as the density wants, too hard or too little, and says so") {
    PlanRequest request = cleat();
    request.foam.mix = MixRatio{50, 100};
    request.foam.density_kg_m3 = 13 * kLbFt3;
    const Plan hard = kept_plan(request, {.foam = true});
    CHECK_FALSE(hard.foam->mixes.chosen);
    CHECK_NEAR(hard.foam->mass.packing_factor, 13.0 / 8.0, 1e-9);
    CHECK(has(hard, "high_pressure"));
    REQUIRE(hard.foam->mixes.other);
    // docs/checks.md G7: the mix for the density itself is denser in free rise, and the softer one.
    CHECK_FALSE(hard.foam->mixes.other->firmer);
    CHECK(hard.foam->mixes.other->pressure_kpa < 20.0);
    // A mold that is said to hold it is believed.
    request.foam.mold_holds_kpa = 100.0;
    CHECK_FALSE(has(kept_plan(request, {.foam = true}), "high_pressure"));

    request.foam.density_kg_m3 = 7 * kLbFt3;
    const Plan little = kept_plan(request, {.foam = true});
    CHECK(has(little, "short_shot"));
    CHECK(has_stop(little));
    request.foam.density_kg_m3 = 9 * kLbFt3;
    CHECK_FALSE(has(kept_plan(request, {.foam = true}), "short_shot"));
}

TEST_CASE("FM8: free rise asked for is the mix's own, and its own pressure (foam_model.md 3)") {
    PlanRequest request = cleat();
    request.foam.basis = DensityBasis::free_rise;
    request.foam.density_kg_m3 = 10 * kLbFt3;
    request.foam.overpack = 1.1;
    const Plan plan = kept_plan(request, {.foam = true});
    CHECK_NEAR(100 * plan.foam->card.mix.a / plan.foam->card.mix.b, 39.6, 1e-8);  // FM1
    CHECK_NEAR(plan.foam->mass.free_rise_kg_m3, 10 * kLbFt3, 1e-9);
    CHECK_NEAR(plan.foam->window.pressure_kpa, 12.065152, 1e-7);
    // A mix of one's own with a free rise of one's own: measured, whatever the card says.
    request.foam.mix = MixRatio{50, 100};
    const Plan own = kept_plan(request, {.foam = true});
    CHECK_NEAR(own.foam->mass.free_rise_kg_m3, 10 * kLbFt3, 1e-9);
    CHECK_NEAR(own.foam->window.pressure_kpa, 12.065152, 1e-7);
}

TEST_CASE("without a density the mix is packed as its card says; up a mountain it takes less") {
    const Plan sea = kept_plan(cleat(), {.foam = true});
    CHECK(sea.foam->basis == DensityBasis::free_rise);
    CHECK_NEAR(sea.foam->mass.packing_factor, 1.15, 1e-12);
    CHECK_FALSE(sea.foam->mixes.chosen);
    PlanRequest request = cleat();
    request.foam.air_kpa = air_pressure_kpa(1600);
    const Plan high = kept_plan(request, {.foam = true});
    CHECK_NEAR(high.foam->mass.free_rise_kg_m3 / kLbFt3, 6.732296, 1e-6);  // foam_model.md FM9
    CHECK(high.foam->batch.part_a_g < sea.foam->batch.part_a_g);
}

TEST_CASE("a measured skin settles the mix by what it takes of the part") {
    PlanRequest request = cleat();
    request.foam.skin_thickness_mm = 0.5;
    request.foam.skin_density_kg_m3 = 400;
    request.foam.density_kg_m3 = 10 * kLbFt3;
    const Plan plan = kept_plan(request, {.foam = true});
    CHECK(plan.foam->mass.skin_measured);
    CHECK(plan.foam->mixes.chosen);
    CHECK_NEAR(plan.foam->mass.core_density_kg_m3, plan.foam->mass.free_rise_kg_m3, 1e-9);
    // Too much skin for any mix of this foam: refused with the skin that fits.
    request.foam.skin_thickness_mm = 2.0;
    CHECK(refusal(request).find("rises freely") != std::string::npos);
}

TEST_CASE("thin places go by the skin that the chain gives, also without a recipe") {
    const Plan thin = kept_plan(cleat(), {.thin = true});
    const Plan both = kept_plan(cleat(), {.thin = true, .foam = true});
    CHECK(thin.thin->skin_mm == both.foam->mass.skin_thickness_mm);
    CHECK(thin.thin->skin_mm > 0.3);
    CHECK_FALSE(thin.foam.has_value());
}

TEST_CASE("adding vents never adds air") {
    PlanRequest request = cleat();
    request.air.up = Vec3(0.3, 0.2, -1.0);
    double before = 1e300;
    for (int vents = 0; vents <= 4; ++vents) {
        request.air.most_vents = vents;
        const Plan plan = kept_plan(request, {.air = true});
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
    CHECK(refusal(request).find("overpack and skin_thickness") != std::string::npos);
    request.foam.overpack.reset();
    request.foam.basis = DensityBasis::core;
    CHECK(refusal(request).find("needs a density") != std::string::npos);
    request.foam.basis.reset();
    request.foam.mix = MixRatio{70, 100};
    CHECK(refusal(request).find("outside what is known") != std::string::npos);
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
