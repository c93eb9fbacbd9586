// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/hole_fit.h"

#include <cmath>

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"

using namespace cavigram;

namespace {

constexpr double kStep = 0.25;

}  // namespace

TEST_CASE("a lip takes no wider hole than it is thick") {
    // 100 long, 7.1 wide, 35.1 high.
    const AirTreeBuilder lip(box_solid(100, 7.1, 35.1).mesh);
    CHECK(widest_hole_mm(lip, Vec3(50, 3.55, 35.1), Vec3::UnitZ()) == 7.0);
    CHECK(widest_hole_mm(lip, Vec3(50, 2.55, 35.1), Vec3::UnitZ()) == 5.0);
    // Into its side, along the side's own normal: as wide as it is high.
    CHECK(widest_hole_mm(lip, Vec3(50, 7.1, 17.55), Vec3::UnitZ()) == 35.0);
}

TEST_CASE("a dome takes a hole up to its own width, as the circle has it") {
    // On a ball the rim of a hole of radius r lies R - sqrt(R^2 - r^2) below the top, which is no
    // more than 2 r for any r up to R: only the ball's own width limits it.
    const AirTreeBuilder ball(sphere_solid(7.0, 64).mesh);
    const double widest = widest_hole_mm(ball, Vec3(0, 0, 7), Vec3::UnitZ());
    CHECK(widest <= 14.0);
    CHECK(widest >= 13.5);  // chords lie within 0.03 mm of the ball, so its edge is a step away
}

TEST_CASE("a sharp tip takes none, a blunt cone what its slope allows") {
    // The rim lies r / tan(a) below the tip of a cone of half angle a: at 45 degrees r, at 14
    // degrees 4 r, more than the hole is wide.
    const AirTreeBuilder blunt(cone_solid(20.0, 20.0, 96).mesh);
    const double widest = widest_hole_mm(blunt, Vec3(0, 0, 20), Vec3::UnitZ());
    CHECK(widest > 39.0);
    const AirTreeBuilder sharp(cone_solid(5.0, 20.0, 96).mesh);
    CHECK(widest_hole_mm(sharp, Vec3(0, 0, 20), Vec3::UnitZ()) < 4.0);
}

TEST_CASE("no wider hole is tried than asked for; the place may lie off the surface") {
    const AirTreeBuilder block(box_solid(100, 100, 100).mesh);
    CHECK(widest_hole_mm(block, Vec3(50, 50, 103), Vec3::UnitZ(), {.most_mm = 20.0}) == 20.0);
    CHECK(widest_hole_mm(block, Vec3(50, 50, 100), Vec3::UnitZ(),
                         {.most_mm = 20.0, .step_mm = kStep * 8}) == 20.0);
}
