// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/placed_holes.h"

#include <numbers>

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"
#include "cavigram/venting/hole_fit.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

PlacedHoles placed(const TriMesh& mesh, const HoleRules& rules = {},
                   const Vec3& up = Vec3::UnitZ()) {
    const AirTreeBuilder solid(mesh);
    return placed_holes(solid, solid.build(up), rules);
}

// Boxes of 100 x 60 x 20 with a wall of 60 x `thick` and `high` more on one side.
TriMesh slab_with_wall(double thick, double high) {
    const int t = static_cast<int>(thick);
    const int h = static_cast<int>(high);
    return blocks(100, 60, 20 + h, [=](int x, int, int z) { return z < 20 || x < t; }).mesh;
}

double distance(const Vec3& a, const Vec3& b) {
    return (a - b).norm();
}

}  // namespace

// The wall takes no wider hole than it is thick.
TEST_CASE("a pour hole is no wider than the part takes") {
    const PlacedHoles broad = placed(slab_with_wall(16, 10));
    CHECK(broad.pour_hole_mm == 15.0);
    CHECK_FALSE(broad.narrowed);
    CHECK(broad.moved.empty());

    const PlacedHoles narrow = placed(slab_with_wall(10, 10));
    CHECK(narrow.narrowed);
    CHECK(narrow.pour_hole_mm <= 10.0);
    CHECK(narrow.pour_hole_mm >= 9.5);
    CHECK(narrow.moved.empty());
    CHECK(narrow.tight_pour_holes.empty());

    // Below the least it goes to the slab, whose middle takes it; the wall's top gets a vent.
    const PlacedHoles lip = placed(slab_with_wall(7, 10));
    REQUIRE(lip.moved.size() == 1);
    CHECK(lip.pour_hole_mm == 15.0);
    CHECK(lip.moved[0].from_mm.z() == 30.0);
    CHECK(lip.moved[0].widest_mm <= 7.0);
    CHECK(lip.moved[0].to_mm.z() == doctest::Approx(20.0));
    CHECK(lip.moved[0].to_mm.x() > 7.0);
    REQUIRE(lip.openings.size() == 1);
    CHECK_FALSE(lip.openings[0].given);
    REQUIRE(lip.vents.size() == 1);
    CHECK(lip.vents[0].place_mm.z() == 30.0);
    CHECK_NEAR(lip.unvented.total_mm3, 7.0 * 60.0 * 10.0, 1e-9);
    CHECK(lip.trapped_mm3 < 1e-9);
}

TEST_CASE("a width that was asked for is kept: the hole moves, or is told to be too wide") {
    HoleRules rules;
    rules.pour_hole_asked = true;
    const PlacedHoles moved = placed(slab_with_wall(14, 10), rules);
    CHECK(moved.moved.size() == 1);
    CHECK(moved.pour_hole_mm == 15.0);
    CHECK(moved.tight_pour_holes.empty());

    // A place that was given is kept too.
    rules.given.pour_holes_mm = {Vec3(7, 30, 30)};
    const PlacedHoles given = placed(slab_with_wall(14, 10), rules);
    CHECK(given.moved.empty());
    REQUIRE(given.tight_pour_holes.size() == 1);
    CHECK(given.tight_pour_holes[0].width_mm == 15.0);
    CHECK(given.tight_pour_holes[0].widest_mm <= 14.0);
    CHECK(given.tight_pour_holes[0].widest_mm >= 13.5);

    // No place of a stick of 7 x 7 takes it.
    rules.given.pour_holes_mm.clear();
    const PlacedHoles stick = placed(box_solid(7, 7, 60).mesh, rules);
    CHECK(stick.moved.empty());
    REQUIRE(stick.tight_pour_holes.size() == 1);
    CHECK(stick.tight_pour_holes[0].widest_mm <= 7.0);
    rules.pour_hole_asked = false;
    const PlacedHoles thin = placed(box_solid(7, 7, 60).mesh, rules);
    CHECK(thin.narrowed);
    CHECK(thin.pour_hole_mm >= 6.5);
    CHECK(thin.tight_pour_holes.empty());
}

// Towers of 4 x 4 mm on a slab, 30 and 29 high. From center to center 12 mm: a pour hole of 15 on
// the higher, by its stub, would leave 12 - 7.5 - 1 = 3.5 mm; at 11 mm 2.5.
TEST_CASE("between the edges of two holes a wall stays") {
    const auto towers = [](int apart) {
        return blocks(60, 40, 30,
                      [=](int x, int y, int z) {
                          const bool row = y >= 18 && y < 22;
                          return z < 10 || (row && x >= 10 && x < 14) ||
                                 (row && z < 29 && x >= 10 + apart && x < 14 + apart);
                      })
            .mesh;
    };
    HoleRules rules;
    rules.given.pour_holes_mm = {Vec3(12, 20, 30)};
    rules.pour_hole_asked = true;
    for (const int apart : {9, 10, 11, 12}) {
        const PlacedHoles holes = placed(towers(apart), rules);
        for (const Vent& vent : holes.vents) {
            CHECK(distance(vent.place_mm, Vec3(12, 20, 30)) >=
                  7.5 + 1.0 + rules.least_wall_mm - 1e-9);
        }
        CHECK((holes.kept_apart > 0) == (distance(Vec3(12, 20, 30), Vec3(12 + apart, 20, 29)) <
                                         7.5 + 1.0 + rules.least_wall_mm));
    }
    // A peak within the mouth is open where the part is surely poured through it.
    CHECK_NEAR(placed(towers(6), rules).unvented.total_mm3, 4.0 * 4.0 * 19.0, 1e-9);
    rules.poured_through = true;
    const PlacedHoles within = placed(towers(6), rules);
    CHECK(within.vents.empty());
    CHECK(within.unvented.total_mm3 < 1e-9);
    CHECK(within.openings.size() == 1);

    // Two vents: towers 6 apart, far from the pour hole; one vent leaves the other tower's air.
    const TriMesh three = blocks(80, 40, 30, [](int x, int y, int z) {
                              const bool row = y >= 18 && y < 22;
                              return z < 10 || x < 20 || (row && z < 25 && x >= 50 && x < 54) ||
                                     (row && z < 24 && x >= 55 && x < 59);
                          }).mesh;
    const PlacedHoles two = placed(three);
    for (std::size_t i = 1; i < two.vents.size(); ++i) {
        CHECK(distance(two.vents[0].place_mm, two.vents[i].place_mm) >=
              2.0 + rules.least_wall_mm - 1e-9);
    }
    HoleRules thin_wall;
    thin_wall.least_wall_mm = 0.5;
    const PlacedHoles free = placed(three, thin_wall);
    CHECK(free.vents.size() == 2);
    CHECK(free.trapped_mm3 < 1e-9);
    CHECK(free.trapped_mm3 <= two.trapped_mm3);
}

TEST_CASE("holes given too close, or on the underside, are told") {
    HoleRules rules;
    rules.given.pour_holes_mm = {Vec3(30, 30, 40)};
    rules.given.vents_mm = {Vec3(40, 30, 40), Vec3(32, 30, 40), Vec3(55, 30, 40)};
    const PlacedHoles holes = placed(box_solid(60, 60, 40).mesh, rules);
    CHECK(holes.openings.size() == 4);
    REQUIRE(holes.close.size() == 2);
    CHECK_NEAR(holes.close[0].wall_mm, 10.0 - 7.5 - 1.0, 1e-9);
    CHECK(holes.close[1].wall_mm < 0.0);
    CHECK(holes.on_underside.empty());

    rules.given.vents_mm.clear();
    for (const auto& [place, below] :
         {std::pair(Vec3(30, 30, 0), true), std::pair(Vec3(30, 0, 20), false),
          std::pair(Vec3(30, 0, 0), false), std::pair(Vec3(0, 0, 40), false)}) {
        rules.given.pour_holes_mm = {place};
        CHECK(placed(box_solid(60, 60, 40).mesh, rules).on_underside.size() == (below ? 1 : 0));
    }
}

TEST_CASE("a vent wider than the tip that it stands on is told") {
    // Half angle 4.8 degrees: at the rim of a hole of 2 mm the cone lies 12 mm below its tip.
    const TriMesh mesh = cone_solid(5.0, 60.0, 96).mesh;
    HoleRules rules;
    rules.given.pour_hole_after = PourHoleAfter::none;
    const PlacedHoles holes = placed(mesh, rules);
    REQUIRE(holes.vents.size() == 1);
    REQUIRE(holes.tight_vents.size() == 1);
    CHECK(holes.tight_vents[0].widest_mm < 2.0);
    CHECK(holes.pour_hole_mm == 0.0);
    CHECK(placed(box_solid(40, 40, 40).mesh, rules).tight_vents.empty());
}

TEST_CASE("with nothing in the way the vents are those of the free choice") {
    const AirTreeBuilder solid(bumpy_ball(40, 3, 5.0, 0.15, 0.0, 3));
    const AirTree tree = solid.build(Vec3::UnitZ());
    HoleRules rules;
    rules.smallest_pocket_mm3 = 1.0;
    const PlacedHoles holes = placed_holes(solid, tree, rules);
    VentOptions options;
    options.min_gain_mm3 = 1.0;
    options.width_mm = rules.vent_mm;
    const VentPlan free = vent_plan(solid, tree, options);
    if (holes.kept_apart == 0 && holes.moved.empty()) {
        REQUIRE(holes.vents.size() == std::min<std::size_t>(3, free.vents.size()));
        for (std::size_t i = 0; i < holes.vents.size(); ++i) {
            CHECK(holes.vents[i].place_mm == free.vents[i].place_mm);
        }
    }
    CHECK(holes.left_mm3.size() == free.vents.size() + 1);
    CHECK(holes.left_mm3.front() >= holes.trapped_mm3);
}
