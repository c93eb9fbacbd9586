// SPDX-License-Identifier: GPL-3.0-or-later
#include <doctest/doctest.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"
#include "cavigram/plan/hole_findings_detail.h"

#include "support/findings.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

PlacedHoles placed(const TriMesh& mesh, const HoleRules& rules) {
    const AirTreeBuilder solid(mesh);
    return placed_holes(solid, solid.build(Vec3::UnitZ()), rules);
}

std::vector<Finding> findings(const TriMesh& mesh, const HoleRules& rules = {}) {
    const PlacedHoles holes = placed(mesh, rules);
    std::vector<Finding> all = detail::pour_hole_findings(holes, rules);
    for (Finding& finding : detail::hole_findings(holes, rules)) {
        all.push_back(std::move(finding));
    }
    return all;
}

// A slab of 100 x 60 x 20 with a wall that stands 10 mm higher along one side.
TriMesh slab_with_wall(int thick) {
    return blocks(100, 60, 30, [=](int x, int, int z) { return z < 20 || x < thick; }).mesh;
}

}  // namespace

TEST_CASE("pour_hole_smaller: a pour hole is no wider than the wall that it stands on") {
    const auto small = findings(slab_with_wall(10));
    REQUIRE(finding_of(small, "pour_hole_smaller") != nullptr);
    CHECK(finding_of(small, "pour_hole_smaller")->severity == Severity::note);
    CHECK(finding_of(findings(slab_with_wall(16)), "pour_hole_smaller") == nullptr);
    // Through 7 mm nobody pours, and a stick has no other place.
    const auto trickle = findings(box_solid(7, 7, 60).mesh);
    REQUIRE(finding_of(trickle, "pour_hole_smaller") != nullptr);
    CHECK(finding_of(trickle, "pour_hole_smaller")->severity == Severity::warning);
    CHECK(rendered(finding_of(trickle, "pour_hole_smaller")->text).find("open half") !=
          std::string::npos);
}

TEST_CASE("pour_hole_elsewhere: a lip takes none, the slab beneath does") {
    const auto moved = findings(slab_with_wall(7));
    REQUIRE(finding_of(moved, "pour_hole_elsewhere") != nullptr);
    CHECK(finding_of(moved, "pour_hole_elsewhere")->at_mm.front()[2] == doctest::Approx(20.0));
    CHECK(finding_of(findings(slab_with_wall(16)), "pour_hole_elsewhere") == nullptr);
}

// 15 mm on a horn of 14 mm hangs over; on a lip of 7 mm half of it is beside the part.
TEST_CASE("pour_hole_too_wide: a width that was asked for and does not fit is no recipe") {
    HoleRules rules;
    rules.pour_hole_asked = true;
    for (const auto& [thick, severity] :
         {std::pair(14, Severity::warning), std::pair(7, Severity::stop)}) {
        rules.given.pour_holes_mm = {Vec3(0.5 * thick, 30, 30)};
        const auto told = findings(slab_with_wall(thick), rules);
        REQUIRE(finding_of(told, "pour_hole_too_wide") != nullptr);
        CHECK(finding_of(told, "pour_hole_too_wide")->severity == severity);
    }
    rules.given.pour_holes_mm = {Vec3(8, 30, 30)};
    CHECK(finding_of(findings(slab_with_wall(16), rules), "pour_hole_too_wide") == nullptr);
}

TEST_CASE("a hole that is given on the underside is refused in one sentence") {
    HoleRules rules;
    rules.given.pour_holes_mm = {Vec3(50, 30, 0)};
    const std::string words = refusal_of([&] { findings(slab_with_wall(16), rules); });
    CHECK(words.find("underside") != std::string::npos);
    CHECK(words.find("pour hole") != std::string::npos);
    rules.given.pour_holes_mm.clear();
    rules.given.vents_mm = {Vec3(50, 30, 0)};
    CHECK(refusal_of([&] { findings(slab_with_wall(16), rules); }).find("The vent at") == 0);
    rules.given.vents_mm = {Vec3(50, 30, 20)};
    CHECK(refusal_of([&] { findings(slab_with_wall(16), rules); }) == "accepted");
}

TEST_CASE("holes_too_close, holes_kept_apart: a wall stays between two holes") {
    HoleRules rules;
    rules.given.pour_holes_mm = {Vec3(8, 30, 30)};
    rules.given.vents_mm = {Vec3(18, 30, 20)};
    CHECK(finding_of(findings(slab_with_wall(16), rules), "holes_too_close") == nullptr);
    rules.given.vents_mm = {Vec3(8, 40, 30)};
    CHECK(finding_of(findings(slab_with_wall(16), rules), "holes_too_close") != nullptr);

    // Two towers of 4 x 4, 10 mm from center to center.
    const TriMesh towers =
        blocks(60, 40, 30, [](int x, int y, int z) {
            const bool row = y >= 18 && y < 22;
            return z < 10 || (row && x >= 10 && x < 14) || (row && z < 29 && x >= 20 && x < 24);
        }).mesh;
    HoleRules on_tower;
    on_tower.pour_hole_asked = true;
    on_tower.given.pour_holes_mm = {Vec3(12, 20, 30)};
    CHECK(finding_of(findings(towers, on_tower), "holes_kept_apart") != nullptr);
    CHECK(finding_of(findings(slab_with_wall(16)), "holes_kept_apart") == nullptr);
}

TEST_CASE("vent_too_wide: on a tip that is finer than the vent") {
    HoleRules rules;
    rules.given.pour_hole_after = PourHoleAfter::none;
    CHECK(finding_of(findings(cone_solid(5.0, 60.0, 96).mesh, rules), "vent_too_wide") != nullptr);
    CHECK(finding_of(findings(slab_with_wall(16), rules), "vent_too_wide") == nullptr);
}
