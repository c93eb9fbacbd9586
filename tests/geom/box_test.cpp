// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/geom/box.h"

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("a box is empty until it holds a point") {
    Box3 box;
    CHECK(box.empty());
    CHECK(box.diagonal() == 0.0);
    box.extend(Vec3(1, 2, 3));
    CHECK_FALSE(box.empty());
    box.extend(Vec3(4, 6, 3));
    CHECK(box.diagonal() == 5.0);
    CHECK(box.center() == Vec3(2.5, 4, 3));
    CHECK(box.squared_distance(Vec3(2, 3, 3)) == 0.0);
    CHECK(box.squared_distance(Vec3(0, 2, 5)) == 5.0);
}
