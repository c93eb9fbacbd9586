// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/straps.h"

#include <numbers>

#include "cavigram/core/limits.h"
#include "cavigram/measure/silhouette.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

StrapRequest e7() {
    StrapRequest request;
    request.pressure_kpa = 20.0;
    request.strap_for_kpa = 20.0;
    request.projected_area_mm2 = 300.0 * 200.0;
    request.run_mm = 300.0;
    return request;
}

bool has(const Straps& straps, FindingCode code) {
    for (const Finding& finding : straps.findings) {
        if (finding.code == code) {
            return true;
        }
    }
    return false;
}

}  // namespace

TEST_CASE("E7: 20 kPa on 300 x 200 mm, three loops") {
    // docs/checks.md E7: 1200 N, 200 N on each leg, 61.183 kgf with three times the safety.
    StrapRequest request = e7();
    request.straps = 3;
    request.holds_n = 600.0;
    const Straps straps = plan_straps(request);
    CHECK_NEAR(straps.opening_force_n, 1200.0, 1e-12);
    CHECK_NEAR(straps.leg_load_n, 200.0, 1e-12);
    CHECK_NEAR(straps.leg_needed_n / 9.80665, 61.183, 1e-5);
    CHECK(straps.pitch_mm == 100.0);
    // Legs of exactly that hold exactly this pressure.
    CHECK_NEAR(straps.holds_kpa, 20.0, 1e-12);
    CHECK(straps.findings.empty());
}

TEST_CASE("E8: at one pitch of a round shell each leg carries p D s / 2") {
    StrapRequest request = e7();
    request.projected_area_mm2 = 100.0 * 400.0;  // D = 100, five straps 80 apart
    request.run_mm = 400.0;
    request.straps = 5;
    const Straps straps = plan_straps(request);
    CHECK(straps.pitch_mm == 80.0);
    CHECK_NEAR(straps.leg_load_n, 80.0, 1e-12);
}

TEST_CASE("E9: a half ball opens by its disc; the area from the mesh's outline") {
    std::vector<Vec2> profile = {{0.0, 0.0}};
    const int steps = 64;
    for (int i = 0; i <= steps; ++i) {
        const double a = 0.5 * std::numbers::pi * i / steps;
        profile.emplace_back(50.0 * std::cos(a), 50.0 * std::sin(a));
    }
    profile.back() = {0.0, 50.0};
    const TriMesh half = revolved_solid(profile, 256).mesh;
    StrapRequest request = e7();
    request.projected_area_mm2 =
        silhouette(half, view_from(Vec3::UnitZ(), Vec3::UnitY()), {.cells = 1000}).area_mm2;
    CHECK_NEAR(plan_straps(request).opening_force_n, 157.0796, 1e-3);
}

TEST_CASE("as many straps as load and pitch take, and at least two") {
    StrapRequest request = e7();
    request.strap_for_kpa = 40.0;  // 2400 N, three times that over 2 x 500 N: 7.2 loops
    const Straps loaded = plan_straps(request);
    CHECK(loaded.straps == 8);
    CHECK(loaded.leg_needed_n <= 500.0);
    // What a leg holds is a guess: no more is claimed than it is planned for.
    CHECK(loaded.holds_kpa == 40.0);
    request.holds_n = 500.0;
    CHECK_NEAR(plan_straps(request).holds_kpa, 2.0 * 8 * 500.0 / 3.0 / 60.0, 1e-12);
    request.holds_n = std::nullopt;
    CHECK(loaded.findings.empty());
    request.strap_for_kpa = request.pressure_kpa = 0.1;
    request.run_mm = 450.0;
    CHECK(plan_straps(request).straps == 5);  // no farther apart than 100 mm
    request.run_mm = 50.0;
    const Straps least = plan_straps(request);
    CHECK(least.straps == 2);
    CHECK(least.findings.empty());  // two small ones on a small mold are not crowded
    request.holds_n = 1e6;
    CHECK(plan_straps(request).holds_kpa == kStrappedByHand_kpa);
}

TEST_CASE("no straps, too few, and more than there is room for") {
    StrapRequest request = e7();
    request.straps = 0;
    const Straps none = plan_straps(request);
    CHECK(has(none, "no_straps"));
    CHECK(none.findings.front().severity == Severity::stop);
    CHECK(none.holds_kpa == 0.0);
    request.straps = 2;
    const Straps few = plan_straps(request);
    CHECK(has(few, "straps_too_few"));
    CHECK(few.holds_kpa < request.strap_for_kpa);
    request.straps = std::nullopt;
    request.strap_for_kpa = 100.0;  // 6000 N: 18 loops on 300 mm
    const Straps crowded = plan_straps(request);
    CHECK(crowded.straps == 18);
    CHECK(has(crowded, "straps_crowded"));
    // Nothing presses: nothing to hold.
    request.straps = 0;
    request.pressure_kpa = request.strap_for_kpa = 0.0;
    CHECK(plan_straps(request).findings.empty());
}
