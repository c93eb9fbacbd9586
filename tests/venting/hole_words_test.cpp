// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/hole_words.h"

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("a hole is told from the nearer ends, at an end, in the middle") {
    const Box3 box{Vec3(-100, 0, 10), Vec3(100, 50, 80)};
    CHECK(hole_words(box, Vec3(88, 24.9, 80)) ==
          "12.0 mm from the +x end, in the middle of y, at the +z end");
    CHECK(hole_words(box, Vec3(-100, 3.21, 30)) ==
          "at the -x end, 3.2 mm from the -y end, 20.0 mm from the -z end");
    CHECK(hole_words(box, Vec3(0, 49.6, 45.2)) ==
          "in the middle of x, at the +y end, in the middle of z");
}
