// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <numbers>
#include <string>
#include <utility>

#include "cavigram/mesh/solids.h"
#include "cavigram/plan/bench_stage_detail.h"

#include "support/findings.h"
#include "support/near.h"

using namespace cavigram;

namespace {

// A solid that is packed to 1.15 with a foam of 128.147707 kg/m3, poured from one cup with 10 %
// more than it holds.
struct Bench {
    explicit Bench(const Solid& solid)
        : card(load_card("generic-firm")), mesh(solid.mesh), mass(mass_properties(solid.mesh)) {
        foam.mass.packing_factor = 1.15;
        foam.mass.molded_density_kg_m3 = 1.15 * 128.147707;
        foam.mass.part_mass_g = foam.mass.molded_density_kg_m3 * mass.volume_mm3 * 1e-6;
        foam.expansion_ratio = 1081.049563 / 128.147707;
        fill_cup();
    }

    void fill_cup() {
        double all_g = foam.mass.part_mass_g;
        for (const AlsoPoured& other : foam.also) {
            all_g += other.part_mass_g;
        }
        foam.batch.part_a_g = 1.1 * all_g / 3.0 / foam.batch.cups_each;
        foam.batch.part_b_g = 2.0 * foam.batch.part_a_g;
    }

    [[nodiscard]] BenchPlan plan(const Vec3& up, const BenchOptions& options = {},
                                 PourHoleAfter after = PourHoleAfter::vented) const {
        return detail::bench_stage(
            card, options,
            {.mesh = mesh, .mass = mass, .up = up, .foam = foam, .pour_hole_after = after}, {});
    }

    FoamCard card;
    TriMesh mesh;
    MassProperties mass;
    FoamBlock foam;
};

}  // namespace

TEST_CASE(
    "the open half is the upper one: a cone R30 H90 parted at half height (foam_model.md section "
    "4)") {
    const Solid cone = cone_solid(30.0, 90.0, 2048);
    const Bench bench(cone);
    // The half with the tip is a cone of half the size: 1/8 of it all.
    const BenchPlan tip_up = bench.plan(Vec3::UnitZ());
    CHECK_NEAR(tip_up.request.open_half_mm3, cone.volume_mm3 / 8.0, 1e-9);
    CHECK_NEAR(tip_up.request.open_half_mm3, 10602.875, 1e-5);
    const BenchPlan tip_down = bench.plan(-Vec3::UnitZ());
    CHECK_NEAR(tip_down.request.open_half_mm3, 74220.126, 1e-5);
    // 12.5 g are 11.6 mL of liquid: more than the tip holds, little for the other half.
    CHECK_FALSE(tip_up.methods[1].possible);
    CHECK(tip_up.method == PourMethod::through_hole);
    CHECK(tip_down.methods[1].possible);
    CHECK(tip_down.method == PourMethod::open_half_and_turn);
    // As it rises, tip down, that liquid stands where a cone of its volume ends.
    const double liquid_mm3 = bench.foam.mass.part_mass_g / 1081.049563 * 1e6;
    CHECK_NEAR(tip_down.liquid_depth_mm, 90.0 * std::cbrt(liquid_mm3 / cone.volume_mm3), 1e-6);
    // The deadline follows the half: 7/8 of the cavity at 1/1.15 of it.
    const RiseClock clock({.work_s = 30, .risen_s = 120, .expansion = bench.foam.expansion_ratio});
    CHECK_NEAR(tip_down.closed_by_s, clock.reached_s(7.0 / 8.0 / 1.15), 1e-9);
    CHECK_NEAR(tip_down.strapped_by_s, 82.639546, 1e-6);  // FM6
    CHECK_NEAR(*tip_down.request.widest_hole_mm, 60.0, 1e-5);
}

// The same cone with a line that climbs from 30 to 45 mm: similar bodies have the cube of their
// heights' ratio.
TEST_CASE("a half holds what lies up to the lowest place of its parting line") {
    const Solid cone = cone_solid(30.0, 90.0, 512);
    const Bench bench(cone);
    Parting parting;
    parting.pull = Vec3::UnitZ();
    parting.low_mm = 30.0;
    parting.high_mm = 45.0;
    const auto holds = [&](const Vec3& up) {
        return detail::bench_stage(bench.card, {},
                                   {.mesh = bench.mesh,
                                    .mass = bench.mass,
                                    .up = up,
                                    .foam = bench.foam,
                                    .parting = &parting},
                                   {})
            .request;
    };
    CHECK_FALSE(holds(Vec3::UnitZ()).parted);  // no line: the middle of the height
    parting.line.loops.resize(1);
    CHECK(holds(Vec3::UnitZ()).parted);
    // Tip up the upper half lies open, tip down: above 45 mm. The lower one below 30 mm.
    CHECK_NEAR(holds(Vec3::UnitZ()).open_half_mm3, cone.volume_mm3 / 8.0, 1e-6);
    CHECK_NEAR(holds(-Vec3::UnitZ()).open_half_mm3, cone.volume_mm3 * (1.0 - 8.0 / 27.0), 1e-6);
    // On its side either half may lie open: the larger.
    CHECK_NEAR(holds(Vec3::UnitX()).open_half_mm3, cone.volume_mm3 * (1.0 - 8.0 / 27.0), 1e-6);
}

TEST_CASE("other molds from the same cup: their liquid, their hands, not this mold's level") {
    Bench bench(box_solid(100, 60, 40));
    const BenchPlan alone = bench.plan(Vec3::UnitZ());
    AlsoPoured big;
    big.measures.mass.area_mm2 = 4.0 * alone.request.area_mm2;  // twice as long
    big.part_mass_g = 100.0;
    bench.foam.also.push_back(std::move(big));
    bench.fill_cup();
    const BenchPlan both = bench.plan(Vec3::UnitZ());
    CHECK(both.request.molds == 2);
    CHECK_NEAR(both.request.pour_mass_g, 1.1 * (bench.foam.mass.part_mass_g + 100.0), 1e-12);
    CHECK_NEAR(both.request.area_mm2, 5.0 * alone.request.area_mm2, 1e-12);
    CHECK(both.liquid_depth_mm == alone.liquid_depth_mm);
    CHECK(both.request.open_half_mm3 == alone.request.open_half_mm3);
    CHECK(both.closed_by_s == alone.closed_by_s);
    CHECK(both.methods[0].spare_s < alone.methods[0].spare_s);
    CHECK(both.methods[1].total_s > alone.methods[1].total_s);
}

TEST_CASE("--largest-batch: all cups of one pour are counted") {
    Bench bench(box_solid(100, 60, 40));
    const BenchPlan one = bench.plan(Vec3::UnitZ());
    bench.foam.batch.cups_each = 2;
    bench.fill_cup();
    const BenchPlan two = bench.plan(Vec3::UnitZ());
    CHECK_NEAR(two.request.pour_mass_g, one.request.pour_mass_g, 1e-12);
    CHECK(two.mix_s == 2 * one.mix_s);
    CHECK(has_finding(two.findings, "no_time"));
}

TEST_CASE("a mold without a pour hole is not poured through one") {
    const Bench bench(box_solid(100, 60, 40));
    CHECK(bench.plan(Vec3::UnitZ()).methods[0].possible);
    const BenchPlan none = bench.plan(Vec3::UnitZ(), {}, PourHoleAfter::none);
    CHECK_FALSE(none.methods[0].possible);
    CHECK(none.methods[0].why_not.find("no pour hole") != std::string::npos);
    CHECK(none.method == PourMethod::open_half_and_turn);
}

TEST_CASE("room and mold are passed on") {
    const Bench bench(box_solid(100, 60, 40));
    BenchOptions options;
    options.temperature_c = 18.0;
    options.mold_temperature_c = 10.0;
    const BenchPlan plan = bench.plan(Vec3::UnitZ(), options);
    CHECK_NEAR(plan.work_time_s, 42.426, 1e-4);  // E18
    CHECK(has_finding(plan.findings, "mold_temperature"));
}
