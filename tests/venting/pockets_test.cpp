// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/pockets.h"

#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/venting/vent_flow.h"

#include "support/near.h"
#include "support/refusal.h"
#include "venting/shapes.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

// All pockets listed, however small.
const PocketOptions kAll{.min_volume_mm3 = 0.0};

struct Case {
    explicit Case(const TriMesh& mesh, const Vec3& up = Vec3::UnitZ())
        : solid(mesh), tree(solid.build(up)) {}
    [[nodiscard]] AirPockets pockets(const Openings& openings = {},
                                     const PocketOptions& options = kAll) const {
        return air_pockets(solid, tree, openings, options);
    }
    AirTreeBuilder solid;
    AirTree tree;
};

}  // namespace

TEST_CASE("with the pour hole on the highest place the other tower is the pocket") {
    const AirPockets found = Case(two_towers().mesh).pockets();
    REQUIRE(found.openings.size() == 1);
    CHECK(found.openings[0].pour_hole);
    CHECK_FALSE(found.openings[0].given);
    CHECK((found.openings[0].place_mm - Vec3(0.5, 0.5, 5)).norm() < 1e-14);
    REQUIRE(found.unvented.pockets.size() == 1);
    const Pocket& pocket = found.unvented.pockets[0];
    CHECK_NEAR(pocket.volume_mm3, 3.0, 1e-12);
    CHECK((pocket.peak_mm - Vec3(2.5, 0.5, 4)).norm() < 1e-14);
    CHECK(pocket.peak_height_mm == 4.0);
    CHECK(pocket.spill_height_mm == 1.0);
    CHECK(pocket.depth_mm == 3.0);
    CHECK(pocket.parent == -1);
    CHECK_NEAR(found.unvented.total_mm3, 3.0, 1e-12);
    CHECK_NEAR(found.vented.total_mm3, 3.0, 1e-12);
}

TEST_CASE("an opening below a peak leaves what is above it") {
    const Case towers(two_towers().mesh);
    // A vent in the right tower's side, 2 up of its 3: the cube above stays.
    const AirPockets side = towers.pockets({{}, {Vec3(3, 0.5, 3)}});
    CHECK_NEAR(side.unvented.total_mm3, 3.0, 1e-12);
    CHECK_NEAR(side.vented.total_mm3, 1.0, 1e-12);
    REQUIRE(side.vented.pockets.size() == 1);
    CHECK(side.vented.pockets[0].spill_height_mm == 3.0);
    CHECK(side.vented.pockets[0].depth_mm == 1.0);
    // On its top nothing stays.
    CHECK(towers.pockets({{}, {Vec3(2.2, 0.7, 4)}}).vented.total_mm3 == 0.0);
    // The pour hole on the right top instead: the left tower's 4 stay.
    const AirPockets right = towers.pockets({{Vec3(2.5, 0.5, 4)}, {}});
    CHECK(right.openings.size() == 1);
    CHECK_NEAR(right.unvented.total_mm3, 4.0, 1e-12);
    // The pour hole low in the plate's side: all above it is one pocket, with the right tower
    // nested.
    const AirPockets low = towers.pockets({{Vec3(1.5, 0, 0.25)}, {}});
    CHECK_NEAR(low.unvented.total_mm3, 7.0 + 3 * 0.75, 1e-12);
    REQUIRE(low.unvented.pockets.size() == 2);
    CHECK_NEAR(low.unvented.pockets[0].volume_mm3, 9.25, 1e-12);
    CHECK(low.unvented.pockets[0].spill_height_mm == 0.25);
    CHECK(low.unvented.pockets[0].peak_height_mm == 5.0);
    CHECK_NEAR(low.unvented.pockets[1].volume_mm3, 3.0, 1e-12);
    CHECK(low.unvented.pockets[1].parent == 0);
}

TEST_CASE("a ball with its opening part-way up keeps the cap above, in closed form") {
    double smooth_error = 0.0;
    for (const int n : {32, 64, 128}) {
        const Solid ball = sphere_solid(30, n);
        // A ring of vertices at 60 degrees from the bottom: height -R cos(...).
        const int step = n / 2 * 3 / 8;
        const double angle = pi * step / (n / 2);
        const double z = -30 * std::cos(angle);
        const AirPockets found = Case(ball.mesh).pockets({{Vec3(30 * std::sin(angle), 0, z)}, {}});
        const double cap = revolved_between(arc_profile(30, n), n, z, 30);
        CHECK_NEAR(found.unvented.total_mm3, cap, 1e-11);
        CHECK_NEAR(found.unvented.pockets[0].depth_mm, 30 - z, 1e-12);
        // Cap of a smooth ball: pi h^2 (3R - h)/3. The error falls as 1/n^2.
        const double h = 30 - z;
        const double error = std::abs(found.unvented.total_mm3 / (pi * h * h * (90 - h) / 3) - 1);
        if (smooth_error > 0.0) {
            CHECK(error < 0.27 * smooth_error);
        }
        smooth_error = error;
    }
}

TEST_CASE("a bowl, both ways up, with its pour hole at the pole") {
    const int n = 48;
    const Solid solid = bowl(30, 24, n);
    // Opening up, pour hole on the inside of the floor: the level there is z = -24, and all of the
    // shell above it stays: the whole less the outer ball's cap below it.
    const AirPockets upright = Case(solid.mesh).pockets({{Vec3(0, 0, -24)}, {}});
    const double below = revolved_between(arc_profile(30, n), n, -30, -24);
    CHECK_NEAR(upright.unvented.total_mm3, solid.volume_mm3 - below, 1e-11);
    // Upside down the pole is the highest place: nothing stays. From the inside of the pole the
    // same cap stays that lay below.
    const Case dome(solid.mesh, -Vec3::UnitZ());
    CHECK(dome.pockets().unvented.total_mm3 == 0.0);
    CHECK_NEAR(dome.pockets({{Vec3(0, 0, -24)}, {}}).unvented.total_mm3, below, 1e-11);
}

TEST_CASE("A4: a tilted box with one opening in the middle of its top") {
    // checks.md A4 [D]: (a/2)^2 tan(theta)/2 b for a = 100, b = 60, tilted 10 degrees about a 60 mm
    // edge.
    const Solid box = box_solid(100, 60, 50);
    const double theta = 10.0 * pi / 180.0;
    const Openings middle{{Vec3(50, 30, 50)}, {}};
    const AirPockets tilted =
        Case(box.mesh, Vec3(std::sin(theta), 0, std::cos(theta))).pockets(middle);
    CHECK_NEAR(tilted.unvented.total_mm3, 13224.524, 1e-7);
    CHECK_NEAR(tilted.unvented.total_mm3, 50.0 * 50.0 * std::tan(theta) / 2 * 60, 1e-11);
    CHECK(Case(box.mesh).pockets(middle).unvented.total_mm3 == 0.0);
}

TEST_CASE("A5: two cones on a plate, only one tip open") {
    // checks.md A5 [D], smooth cones: 84.823 002 mL; after +20 kPa 70.840 228 mL. A cone of n sides
    // has (n/2) sin(2 pi/n) R^2 H/3, a share 2 pi^2/(3 n^2) less.
    const int n = 512;
    const Case cones(two_cones(30, 90, n));
    const double share = 2.0 * pi * pi / 3.0 / n / n + 1e-8;  // and the digits of the check value
    const AirPockets one = cones.pockets({{Vec3(-45, 0, 90)}, {}});
    REQUIRE(one.unvented.pockets.size() == 1);
    CHECK((one.unvented.pockets[0].peak_mm - Vec3(45, 0, 90)).norm() < 1e-12);
    CHECK_NEAR(one.unvented.total_mm3, 84823.002, share);
    CHECK_NEAR(squeezed_volume_mm3(one.unvented.total_mm3, 20), 70840.228, share);
    CHECK_NEAR(one.unvented.total_mm3, 0.5 * n * std::sin(2 * pi / n) * 30 * 30 * 30, 1e-12);
    // "A5 -> 2; vent on each -> no pocket"
    const AirPockets both = cones.pockets({{Vec3(-45, 0, 90)}, {Vec3(45, 0, 90)}});
    CHECK(both.vented.pockets.empty());
    CHECK(both.vented.total_mm3 == 0.0);
}

TEST_CASE("A1, A2, A6: squeezed, pressed and floating") {
    // checks.md section 7: A1 to 1e-8, A2 to 1e-6, A6 exact.
    CHECK_NEAR(squeezed_volume_mm3(10000, 20), 8351.5351, 1e-8);
    CHECK_NEAR(column_pressure_kpa(1080, 300), 3.17735, 2e-6);  // printed to six digits
    CHECK_NEAR(column_pressure_kpa(1080, 300), 1.080 * 9.80665 * 0.3, 1e-15);
    CHECK_NEAR(column_pressure_kpa(128.1477, 400), 0.502680, 1e-6);
    CHECK_NEAR(squeezed_volume_mm3(10000, column_pressure_kpa(128.1477, 400)), 9950.6343, 1e-6);
    // A6: a master of 240 mL as an upright prism of 40 cm2: pressure under it less its own weight,
    // in newtons (kPa times mm2 over 1000).
    const double lift =
        (column_pressure_kpa(1100, 60) - column_pressure_kpa(600, 60)) * 4000 / 1000;
    CHECK_NEAR(lift, 1.176798, 1e-9);
    CHECK(squeezed_volume_mm3(10000, 0) == 10000);
}

TEST_CASE("openings off the surface are set on it, or refused") {
    const Case box(box_solid(100, 60, 50).mesh);
    // Default limit: 2 mm, or 1 % of the diagonal of 127 mm.
    const AirPockets near = box.pockets({{Vec3(50, 30, 51.9)}, {}});
    CHECK(near.openings[0].moved_mm == doctest::Approx(1.9));
    CHECK((near.openings[0].place_mm - Vec3(50, 30, 50)).norm() < 1e-12);
    CHECK_THROWS_AS(static_cast<void>(box.pockets({{Vec3(50, 30, 52.1)}, {}})), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(box.pockets({{}, {Vec3(50, 30, 25)}})), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(box.pockets({{}, {Vec3(NAN, 30, 25)}})), InvalidInput);
    PocketOptions wide = kAll;
    wide.snap_limit_mm = 30.0;
    CHECK(box.pockets({{}, {Vec3(50, 20, 25)}}, wide).openings[1].moved_mm == doctest::Approx(20));
    wide.snap_limit_mm = -1.0;
    CHECK_THROWS_AS(static_cast<void>(box.pockets({}, wide)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(box.pockets({}, {.min_volume_mm3 = NAN})), InvalidInput);
    CHECK(refusal_of([&] {
              return box.pockets({{Vec3(0, 0, 500)}, {}});
          }).find("x 0.0, y 0.0, z 500.0 mm") != std::string::npos);
}

TEST_CASE("small pockets are counted, not listed") {
    // Spikes on a plate, the lower ones 3, 4 and 5 cubes.
    const Solid comb = blocks(7, 1, 7, [](int x, int, int z) {
        return z == 0 || (x == 0 && z <= 6) || (x == 2 && z <= 5) || (x == 4 && z <= 4) ||
               (x == 6 && z <= 3);
    });
    const Case spikes(comb.mesh);
    const TrappedAir all = spikes.pockets().unvented;
    CHECK(all.pockets.size() == 3);
    CHECK(all.hidden_count == 0);
    CHECK_NEAR(all.total_mm3, 12.0, 1e-12);
    // All three part from the plate at one height: none is nested in another.
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(all.pockets[i].parent == -1);
        CHECK_NEAR(all.pockets[i].volume_mm3, 5.0 - static_cast<double>(i), 1e-12);
    }
    const TrappedAir some = spikes.pockets({}, {.min_volume_mm3 = 4.5}).unvented;
    CHECK(some.pockets.size() == 1);
    CHECK(some.hidden_count == 2);
    CHECK_NEAR(some.hidden_mm3, 7.0, 1e-12);
    CHECK_NEAR(some.total_mm3, 12.0, 1e-12);
    const TrappedAir deep =
        spikes.pockets({}, {.min_volume_mm3 = 0.0, .min_depth_mm = 3.5}).unvented;
    CHECK(deep.pockets.size() == 2);
    // By default a bubble of 0.1 cm3 counts as small: these cubes are 1 mm.
    const AirPockets plain = spikes.pockets({}, {});
    CHECK(plain.min_volume_mm3 == 100.0);
    CHECK(plain.unvented.pockets.empty());
    CHECK(plain.unvented.hidden_count == 3);
    CHECK_NEAR(default_min_volume_mm3(1e8), 1000.0, 1e-14);
}

TEST_CASE("each solid has a pour hole of its own") {
    const TriMesh first = two_towers().mesh;
    const TriMesh both = joined(first, transformed(first, 2.0, Vec3(10, 0, 0)));
    const AirPockets found = Case(both).pockets();
    CHECK(found.openings.size() == 2);
    CHECK_NEAR(found.unvented.total_mm3, 3.0 + 8 * 3.0, 1e-12);
    // One given, one added.
    const AirPockets given = Case(both).pockets({{Vec3(2.5, 0.5, 4)}, {}});
    REQUIRE(given.openings.size() == 2);
    CHECK(given.openings[0].given);
    CHECK_FALSE(given.openings[1].given);
    CHECK_NEAR(given.unvented.total_mm3, 4.0 + 8 * 3.0, 1e-12);
}

TEST_CASE("one more opening never traps more air") {
    const TriMesh mesh = bumpy_ball(50, 4, 9, 0.15, 0.02, 8);
    const Case ball(mesh, Vec3(0.2, 0.1, 1));
    std::mt19937 random(3);
    for (int round = 0; round < 5; ++round) {
        Openings openings;
        double before = ball.pockets().unvented.total_mm3;
        CHECK(before > 100.0);
        for (int i = 0; i < 8; ++i) {
            const std::size_t t = random() % mesh.triangles.size();
            openings.vents_mm.push_back(
                (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0);
            const AirPockets now = ball.pockets(openings);
            CHECK(now.vented.total_mm3 <= before * (1 + 1e-12));
            CHECK_NEAR(now.unvented.total_mm3, ball.pockets().unvented.total_mm3, 1e-12);
            before = now.vented.total_mm3;
            // The list adds up.
            double sum = now.vented.hidden_mm3;
            for (const Pocket& pocket : now.vented.pockets) {
                sum += pocket.parent < 0 ? pocket.volume_mm3 : 0.0;
                if (pocket.parent >= 0) {
                    CHECK(now.vented.pockets[std::size_t(pocket.parent)].volume_mm3 >=
                          pocket.volume_mm3);
                }
            }
            CHECK_NEAR(sum, now.vented.total_mm3, 1e-12);
        }
    }
}

TEST_CASE("the call on a part gives the same") {
    const Part part = part_from_closed(two_towers().mesh);
    CHECK_NEAR(air_pockets(part, Vec3::UnitZ(), {}, kAll).unvented.total_mm3, 3.0, 1e-12);
}

namespace {

Openings with_hole(PourHoleAfter after, std::vector<Vec3> vents = {}) {
    return {{}, std::move(vents), after};
}

}  // namespace

TEST_CASE("a convex part keeps all its air where the pour hole lets none out") {
    for (const TriMesh& mesh : {sphere_solid(30, 48).mesh, box_solid(40, 30, 20).mesh}) {
        const Case part(mesh);
        const Vec3 top = part.pockets().openings.at(0).place_mm;
        CHECK(part.pockets().unvented.total_mm3 == 0.0);
        for (const PourHoleAfter after : {PourHoleAfter::plugged, PourHoleAfter::none}) {
            const AirPockets closed = part.pockets(with_hole(after));
            CHECK_NEAR(closed.unvented.total_mm3, part.tree.volume_mm3, 1e-12);
            REQUIRE(closed.unvented.pockets.size() == 1);
            CHECK_NEAR(closed.unvented.pockets[0].volume_mm3, part.tree.volume_mm3, 1e-12);
            // From the lowest place to the highest.
            CHECK_NEAR(closed.unvented.pockets[0].depth_mm, part.solid.bounds_mm().sizes().z(),
                       1e-12);
            const AirPockets vented = part.pockets(with_hole(after, {top}));
            CHECK(vented.vented.total_mm3 == 0.0);
            CHECK_NEAR(vented.unvented.total_mm3, part.tree.volume_mm3, 1e-12);
        }
        // The plugged hole is there all the same; without one there is none.
        const AirPockets plugged = part.pockets(with_hole(PourHoleAfter::plugged));
        REQUIRE(plugged.openings.size() == 1);
        CHECK(plugged.openings[0].pour_hole);
        CHECK_FALSE(plugged.openings[0].lets_air_out);
        CHECK((plugged.openings[0].place_mm - top).norm() < 1e-12);
        CHECK(part.pockets(with_hole(PourHoleAfter::none)).openings.empty());
    }
}

TEST_CASE("a vent below the top of a closed ball keeps the cap above, in closed form") {
    const int n = 64;
    const Case ball(sphere_solid(30, n).mesh);
    const double angle = pi * (n / 2 * 3 / 8) / (n / 2);  // a ring of vertices
    const double z = -30 * std::cos(angle);
    const Openings low = with_hole(PourHoleAfter::none, {Vec3(30 * std::sin(angle), 0, z)});
    CHECK_NEAR(ball.pockets(low).vented.total_mm3, revolved_between(arc_profile(30, n), n, z, 30),
               1e-11);
}

TEST_CASE("A5 in the three states of the pour hole") {
    // checks.md A5 [D]: 84.823 002 mL in each cone; the plate 180 x 90 x 10 mm holds 162 mL. One
    // tip has the pour hole.
    const int n = 512;
    const Case cones(two_cones(30, 90, n));
    const double share = 2.0 * pi * pi / 3.0 / n / n + 1e-8;  // as above
    const double all = 162000.0 + 2.0 * 84823.002;
    const Vec3 left(-45, 0, 90);
    const Vec3 right(45, 0, 90);
    const auto air = [&](PourHoleAfter after, std::vector<Vec3> holes, std::vector<Vec3> vents) {
        return cones.pockets({std::move(holes), std::move(vents), after});
    };
    CHECK_NEAR(air(PourHoleAfter::vented, {left}, {}).unvented.total_mm3, 84823.002, share);
    CHECK_NEAR(air(PourHoleAfter::plugged, {left}, {}).unvented.total_mm3, all, share);
    CHECK_NEAR(air(PourHoleAfter::none, {}, {}).unvented.total_mm3, all, share);
    // Either tip vented leaves the other cone; both vented leave nothing.
    for (const Vec3& one : {left, right}) {
        const AirPockets plugged = air(PourHoleAfter::plugged, {left}, {one});
        CHECK_NEAR(plugged.vented.total_mm3, 84823.002, share);
        CHECK((plugged.vented.pockets.at(0).peak_mm + one - Vec3(0, 0, 180)).norm() < 1e-12);
        CHECK_NEAR(air(PourHoleAfter::none, {}, {one}).vented.total_mm3, 84823.002, share);
    }
    CHECK(air(PourHoleAfter::plugged, {left}, {left, right}).vented.total_mm3 == 0.0);
    CHECK(air(PourHoleAfter::none, {}, {left, right}).vented.total_mm3 == 0.0);
}

TEST_CASE("a pour hole is refused where there shall be none; the three words are read back") {
    const Case box(box_solid(10, 10, 10).mesh);
    CHECK_THROWS_AS(static_cast<void>(box.pockets({{Vec3(5, 5, 10)}, {}, PourHoleAfter::none})),
                    InvalidInput);
    for (const PourHoleAfter after :
         {PourHoleAfter::vented, PourHoleAfter::plugged, PourHoleAfter::none}) {
        CHECK(parse_pour_hole_after(to_text(after), "--pour-hole-after") == after);
    }
    CHECK(refusal_of([] { return parse_pour_hole_after("open", "--pour-hole-after"); }) ==
          "--pour-hole-after is \"open\"; give vented, plugged or none.");
}
