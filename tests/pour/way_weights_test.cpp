// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/way_weights.h"

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("weights are read by name, and what makes no sense is refused") {
    const WayWeights weights = parse_way_weights("vents=2,air=1,height=0.5", "--weights");
    CHECK(weights.of(WayMeasure::air) == 1.0);
    CHECK(weights.of(WayMeasure::vents) == 2.0);
    CHECK(weights.of(WayMeasure::height) == 0.5);
    CHECK(weights.of(WayMeasure::path) == 0.0);
    for (const char* bad : {"", "air", "air=", "air=x", "air=1x", "air=-1", "air=nan", "air=inf",
                            "airs=1", "air=1,", "air=1,air=2", "air=0", "=1", "air=1;vents=2"}) {
        CAPTURE(bad);
        CHECK_THROWS_AS(static_cast<void>(parse_way_weights(bad, "--weights")), InvalidInput);
    }
}

// By hand: halves and quarters of the range, weighted 1 to 3.
TEST_CASE("a score is the weighted place between the best and the worst") {
    WayScale scale;
    scale.take({10, 0, 0, 100, 0, 7, 0.5});
    scale.take({30, 0, 4, 300, 0, 7, 0.5});
    const WayWeights weights = parse_way_weights("air=1,height=3,path=4", "--weights");
    CHECK_NEAR(weighted_score({20, 0, 0, 150, 0, 7, 0.5}, weights, scale),
               (1 * 0.5 + 3 * 0.25 + 4 * 0.0) / 8, 1e-14);
    CHECK(weighted_score({10, 0, 4, 100, 0, 7, 0.5}, weights, scale) == 0.0);
    CHECK_NEAR(weighted_score({30, 0, 4, 300, 0, 7, 0.5}, weights, scale), 0.5, 1e-14);
}
