// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/bench.h"

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

namespace {

BenchRequest small_pour() {
    BenchRequest r;
    r.pour_mass_g = 150;
    r.area_mm2 = 40000;
    return r;
}

bool found(const BenchPlan& plan, const char* code) {
    for (const Finding& finding : plan.findings) {
        if (finding.code == code) {
            return true;
        }
    }
    return false;
}

}  // namespace

TEST_CASE(
    "Q3: 150 g through a 10 mm hole takes 20.067 s, too long for a 30 s foam (checks.md section "
    "6)") {
    BenchRequest r = small_pour();
    r.pour_hole_mm = 10;
    r.method = PourMethod::through_hole;
    const BenchPlan plan = bench_plan(load_card("generic-firm"), r);
    CHECK_NEAR(plan.pour_s, 20.067, 1e-3);
    CHECK_NEAR(plan.hole_reynolds, 0.952, 1e-3);
    CHECK(plan.spare_s < 0);
    CHECK(found(plan, "no_time"));
    CHECK(found(plan, "pour_hole_narrow"));
    // The hole that it asks for leaves just no time over.
    r.pour_hole_mm = plan.hole_needed_mm;
    CHECK(std::abs(bench_plan(load_card("generic-firm"), r).spare_s) < 1e-3);
}

TEST_CASE("E18, T2: times at today's temperature; refused too far away") {
    BenchRequest r = small_pour();
    r.temperature_c = 15;
    const BenchPlan cold = bench_plan(load_card("generic-firm"), r);
    CHECK_NEAR(cold.work_time_s, 52.233, 1e-4);
    CHECK_NEAR(cold.demold_min_s / 1800, cold.work_time_s / 30, 1e-12);
    CHECK_NEAR(cold.demold_max_s / 2700, cold.work_time_s / 30, 1e-12);
    r.temperature_c = 5;
    CHECK_THROWS_AS(static_cast<void>(bench_plan(load_card("generic-firm"), r)), InvalidInput);
}

TEST_CASE("the budget adds up, and warmer never leaves more time") {
    double before = 1e9;
    for (double t = 10; t <= 36; t += 2) {
        BenchRequest r = small_pour();
        r.temperature_c = t;
        r.method = PourMethod::open_half_and_turn;
        const BenchPlan plan = bench_plan(load_card("generic-firm"), r);
        CHECK_NEAR(plan.mix_s + plan.pour_s + plan.close_s + plan.spare_s, plan.work_time_s, 1e-12);
        CHECK(plan.spare_s < before);
        before = plan.spare_s;
    }
}

TEST_CASE("the method that wets both halves is taken when it fits, the hole when it does not") {
    BenchRequest r = small_pour();
    r.temperature_c = 18;  // 42 s
    CHECK(bench_plan(load_card("generic-firm"), r).method == PourMethod::open_half_and_turn);
    r.lower_half_mm3 = 100000;  // the liquid has 139 mL
    const BenchPlan full = bench_plan(load_card("generic-firm"), r);
    CHECK(full.method == PourMethod::through_hole);
    CHECK(full.methods[1].why_not.find("the open half holds 100 mL") != std::string::npos);
    r.lower_half_mm3 = 0;
    r.temperature_c = 23;  // 30 s: closing and strapping take too long, the hole does not
    r.pour_hole_mm = 25;
    CHECK(bench_plan(load_card("generic-firm"), r).method == PourMethod::through_hole);
    r.temperature_c = 38;  // 10.6 s: stirring alone takes longer
    const BenchPlan hot = bench_plan(load_card("generic-firm"), r);
    CHECK(found(hot, "no_time"));
    CHECK(hot.hole_needed_mm == 0.0);
}

TEST_CASE("Jeffreys' film, and what makes no sense") {
    // 1 Pa s, 100 mm, 10 s, 1080 kg/m3: sqrt(0.1/(1080 * 9.80665 * 10)) = 0.9717 mm at the foot,
    // two thirds of it in the mean.
    CHECK_NEAR(drained_film_mm(1, 1080, 100, 10), 2.0 / 3.0 * 0.97168, 1e-4);
    BenchRequest r = small_pour();
    r.wall_mm = 100;
    CHECK_NEAR(bench_plan(load_card("generic-firm"), r).film_mm,
               drained_film_mm(1, 1080, 100, kDrainTime_s), 1e-15);
    r.times.stir_s = -1;
    CHECK_THROWS_AS(static_cast<void>(bench_plan(load_card("generic-firm"), r)), InvalidInput);
    CHECK(parse_pour_method("brush_first", "--method") == PourMethod::brush_first);
    CHECK_THROWS_AS(static_cast<void>(parse_pour_method("bucket", "--method")), InvalidInput);
}
