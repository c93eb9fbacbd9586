// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/show_side.h"

#include "cavigram/core/error.h"
#include "cavigram/venting/vents.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

// A base of 1 with teeth of 7, 5, 6 and 3 on it, each 1 x 1.
Solid teeth() {
    return blocks(7, 1, 8, [](int x, int, int z) {
        const int heights[] = {7, 5, 6, 3};
        return z == 0 || (x % 2 == 0 && z <= heights[x / 2]);
    });
}

HolePlace highest(const std::vector<HolePlace>& places) {
    HolePlace best;
    for (const HolePlace& p : places) {
        if (p.there && (!best.there || p.height_mm > best.height_mm)) {
            best = p;
        }
    }
    return best;
}

}  // namespace

TEST_CASE("the highest place off a box's seen top lies the hole's radius below it") {
    const AirTreeBuilder solid(box_solid(10, 10, 10).mesh);
    const AirTree tree = solid.build(Vec3::UnitZ());
    const ShowSide top{.toward = Vec3(0, 0, 3)};
    for (const double radius : {0.5, 1.0, 2.5}) {
        const HolePlace place =
            highest(places_off(solid, tree, ShowSurface(solid.mesh(), top), radius));
        REQUIRE(place.there);
        // Found by halving the way from a corner to a triangle's middle, 3.3 mm down, twelve times.
        CHECK(place.height_mm <= 10.0 - radius);
        CHECK(place.height_mm > 10.0 - radius - 0.01);
        CHECK(solid.bvh().nearest(place.place_mm).distance_mm < 1e-12);
    }
    // With its lower side seen nothing stands in the way.
    const ShowSide bottom{.toward = Vec3(0, 0, -1)};
    CHECK(highest(places_off(solid, tree, ShowSurface(solid.mesh(), bottom), 1.0)).height_mm ==
          10.0);
    // A box in space around the upper half: the hole's radius below its lower face.
    const ShowSide upper{.box_mm = Box3{Vec3(-1, -1, 8), Vec3(11, 11, 11)}};
    const HolePlace below = highest(places_off(solid, tree, ShowSurface(solid.mesh(), upper), 1.0));
    REQUIRE(below.there);
    CHECK(below.height_mm <= 7.0);
    CHECK(below.height_mm > 6.99);
    // All of it seen: there is no place.
    const ShowSide all{.box_mm = Box3{Vec3(-1, -1, -1), Vec3(11, 11, 11)}};
    CHECK_FALSE(highest(places_off(solid, tree, ShowSurface(solid.mesh(), all), 1.0)).there);
    CHECK(ShowSurface(solid.mesh(), {.box_mm = Box3{Vec3(20, 0, 0), Vec3(30, 1, 1)}}).empty());
}

// By counting: a hole of radius r in the side of a tooth leaves r of its 1 x 1 top.
TEST_CASE("vents off the show side leave what is above them") {
    const AirTreeBuilder solid(teeth().mesh);
    const AirTree tree = solid.build(Vec3::UnitZ());
    const double radius = 0.2;
    VentOptions options;
    options.min_gain_mm3 = 0.0;
    options.allowed =
        places_off(solid, tree, ShowSurface(solid.mesh(), {.toward = Vec3::UnitZ()}), radius);
    options.openings = with_pour_holes(solid, tree, options.allowed, {});
    REQUIRE(options.openings.pour_holes_mm.size() == 1);
    const double error = 0.01;  // of the places' heights
    CHECK(std::abs(options.openings.pour_holes_mm[0].z() - (8.0 - radius)) < error);
    const VentPlan plan = vent_plan(solid, tree, options);
    CHECK(std::abs(plan.trapped_mm3 - (14.0 + radius)) < error);
    REQUIRE(plan.vents.size() == 3);
    const double heights[] = {6.0, 5.0, 3.0};
    double left = 14.0 + radius;
    for (std::size_t i = 0; i < 3; ++i) {
        CHECK(std::abs(plan.vents[i].gain_mm3 - (heights[i] - radius)) < error);
        CHECK(std::abs(plan.vents[i].height_mm - (heights[i] + 1.0 - radius)) < error);
        left -= heights[i] - radius;
        CHECK(std::abs(plan.vents[i].residual_mm3 - left) < 4.0 * error);
    }
    // What the plan promises is what the pockets say of these very holes.
    Openings made = options.openings;
    for (const Vent& vent : plan.vents) {
        made.vents_mm.push_back(vent.place_mm);
    }
    const AirPockets kept = air_pockets(solid, tree, made, {.min_volume_mm3 = 0.0});
    CHECK_NEAR(kept.vented.total_mm3, plan.vents.back().residual_mm3, 1e-9);
}

TEST_CASE("keeping off a side never lets more air out, for any side and count") {
    for (std::uint32_t seed = 0; seed < 6; ++seed) {
        CAPTURE(seed);
        const AirTreeBuilder solid(bumpy_ball(50, 4, 5, 0.35, 0.004, seed));
        for (const Vec3& up : sphere_directions(5)) {
            const AirTree tree = solid.build(up);
            VentOptions free;
            free.min_gain_mm3 = 0.0;
            VentOptions kept = free;
            kept.allowed =
                places_off(solid, tree, ShowSurface(solid.mesh(), {.toward = Vec3(1, 2, 3)}), 0.5);
            kept.openings = with_pour_holes(solid, tree, kept.allowed, {});
            const VentPlan plan = vent_plan(solid, tree, kept);
            const VentPlan best = vent_plan(solid, tree, free);
            CHECK(plan.trapped_mm3 >= best.trapped_mm3 * (1.0 - 1e-9));
            for (std::size_t k = 0; k < std::min(plan.vents.size(), best.vents.size()); ++k) {
                CHECK(plan.vents[k].residual_mm3 >=
                      best.vents[k].residual_mm3 - 1e-9 * tree.volume_mm3);
            }
        }
    }
}

TEST_CASE("a show side needs a length or an inside") {
    CHECK_THROWS_AS(validate({}), InvalidInput);
    CHECK_THROWS_AS(validate({.toward = Vec3(0, 0, 0)}), InvalidInput);
    CHECK_THROWS_AS(validate({.box_mm = Box3{Vec3(1, 0, 0), Vec3(0, 1, 1)}}), InvalidInput);
    CHECK_THROWS_AS(validate({.toward = Vec3::UnitX(), .box_mm = Box3{}}), InvalidInput);
    validate({.box_mm = Box3{Vec3(0, 0, 0), Vec3(1, 1, 0)}});
    CHECK(looks_toward(Vec3(0, 0, 2), Vec3(0, 1, 1)));
    CHECK_FALSE(looks_toward(Vec3(0, 0, 2), Vec3(0, 2, 1)));
}

TEST_CASE("holes keep off each other; a plugged pour hole goes beside the vent") {
    const AirTreeBuilder solid(box_solid(40, 40, 40).mesh);
    const AirTree tree = solid.build(Vec3::UnitZ());
    const Vec3 vent(20, 20, 40);
    ShowSurface keep_off;
    CHECK(keep_off.empty());
    CHECK(keep_off.clear(vent, 5.0));
    CHECK(keep_off.apart(vent, 5.0));
    keep_off.add_hole(vent, 2.0);
    CHECK(keep_off.clear(vent, 5.0));
    CHECK_FALSE(keep_off.apart(vent + Vec3(6.9, 0, 0), 5.0));
    CHECK(keep_off.apart(vent + Vec3(7.0, 0, 0), 5.0));
    // On a level top as high as the vent, and as near as both holes allow.
    const HolePlace beside = place_beside(solid, tree, keep_off, vent, 2.0, 5.0);
    REQUIRE(beside.there);
    CHECK(beside.height_mm == 40.0);
    CHECK((beside.place_mm - vent).norm() >= 7.0);
    CHECK((beside.place_mm - vent).norm() < 8.0);
    // On a ball R 30 at a distance d from its top: down by d^2/(2R), the sagitta.
    const AirTreeBuilder ball(sphere_solid(30, 96).mesh);
    const AirTree round = ball.build(Vec3::UnitZ());
    const HolePlace down = place_beside(ball, round, ShowSurface(), Vec3(0, 0, 30), 2.0, 5.0);
    REQUIRE(down.there);
    const double d = (down.place_mm - Vec3(0, 0, 30)).norm();
    CHECK(d >= 7.0);
    CHECK(d < 9.0);
    CHECK(std::abs(30.0 - down.height_mm - d * d / 60.0) < 0.05);  // the ball has 96 flat sides
    // With the top seen there is no room beside the vent; on its sides there is.
    ShowSurface seen(solid.mesh(), {.toward = Vec3::UnitZ()});
    const HolePlace side = place_beside(solid, tree, seen, vent, 2.0, 5.0);
    CHECK((!side.there || side.height_mm <= 35.0));
    // And with no room anywhere there is none.
    ShowSurface all(solid.mesh(), {.box_mm = Box3{Vec3(-1, -1, -1), Vec3(41, 41, 41)}});
    CHECK_FALSE(place_beside(solid, tree, all, vent, 2.0, 5.0).there);
    // No pour hole is added where there shall be none.
    const Openings none{{}, {}, PourHoleAfter::none};
    CHECK(with_pour_holes(solid, tree, places_off(solid, tree, seen, 5.0), none)
              .pour_holes_mm.empty());
}
