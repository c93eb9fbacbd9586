// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/geom/convex_hull.h"

#include <cmath>
#include <numbers>

#include "support/near.h"

using namespace cavigram;

TEST_CASE("the hull of points, by hand") {
    const std::vector<Vec2> hull =
        convex_hull({{0, 0}, {2, 0}, {1, 0}, {2, 2}, {0, 2}, {1, 1}, {0, 0}, {2, 1}, {0.5, 1.9}});
    REQUIRE(hull.size() == 4);
    CHECK(hull[0] == Vec2(0, 0));
    CHECK(hull[1] == Vec2(2, 0));
    CHECK(hull[2] == Vec2(2, 2));
    CHECK(hull[3] == Vec2(0, 2));
    CHECK(convex_hull({{1, 1}, {1, 1}}).size() == 1);
    CHECK(convex_hull({{0, 0}, {1, 1}, {2, 2}}).size() == 2);
}

TEST_CASE("a string around points, by hand and around a regular polygon") {
    CHECK_NEAR(hull_perimeter({{0, 0}, {3, 0}, {0, 4}, {1, 1}}), 12.0, 1e-12);
    CHECK_NEAR(hull_perimeter({{0, 0}, {3, 4}}), 10.0, 1e-12);  // there and back
    CHECK(hull_perimeter({{1, 2}}) == 0.0);
    CHECK(hull_perimeter({}) == 0.0);
    std::vector<Vec2> round;
    for (int i = 0; i < 7; ++i) {
        const double a = 2.0 * std::numbers::pi * i / 7;
        round.emplace_back(5.0 * std::cos(a), 5.0 * std::sin(a));
    }
    CHECK_NEAR(hull_perimeter(round), 7 * 2 * 5.0 * std::sin(std::numbers::pi / 7), 1e-12);
}
