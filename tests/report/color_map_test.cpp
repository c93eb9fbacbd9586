// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/color_map.h"

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("viridis runs from violet to yellow, ever lighter") {
    CHECK(viridis(0.0) == Rgb{68, 1, 84});
    CHECK(viridis(1.0) == Rgb{253, 231, 37});
    CHECK(viridis(-5.0) == viridis(0.0));
    CHECK(viridis(9.0) == viridis(1.0));
    double before = -1.0;
    for (int i = 0; i <= 100; ++i) {
        const Rgb c = viridis(i / 100.0);
        const double luma = 0.2126 * c[0] + 0.7152 * c[1] + 0.0722 * c[2];  // Rec. 709 weights
        CHECK(luma > before);
        before = luma;
    }
}
