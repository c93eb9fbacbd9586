// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/finish.h"

#include "cavigram/core/error.h"
#include "cavigram/core/quantity.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("grams are area times rate, by hand") {
    // A box of 100 x 60 x 40 mm has 2 (6000 + 4000 + 2400) = 24,800 mm2 = 0.0248 m2.
    const Finish asked = finish(24'800.0, 50.0, 3);
    CHECK_NEAR(asked.grams, 1.24, 1e-14);
    CHECK_NEAR(asked.total_g, 3.72, 1e-14);
    CHECK_FALSE(asked.rate_is_guess);
    CHECK(asked.area_mm2 == 24'800.0);
    CHECK(finish(24'800.0, 0.0).grams == 0.0);
    CHECK_THROWS_AS(static_cast<void>(finish(24'800.0, -1.0)), InvalidInput);
}

TEST_CASE("without a rate it is a guess, and says so") {
    const Finish guessed = finish(1e6, std::nullopt);
    CHECK(guessed.rate_is_guess);
    CHECK(guessed.rate_g_m2 == kFinish_g_m2);
    CHECK_NEAR(guessed.grams, kFinish_g_m2, 1e-14);
}

TEST_CASE("the rate in the units of a shop (NIST SP 811: 1 oz = 28.349523125 g, 1 ft = 0.3048 m)") {
    CHECK_NEAR(parse_quantity("0.1 oz/ft2", Kind::areal_density, "--finish"),
               2.8349523125 / (0.3048 * 0.3048), 1e-14);
    CHECK_NEAR(parse_quantity("30g/m²", Kind::areal_density, "--finish"), 30.0, 1e-14);
    CHECK_THROWS_AS(static_cast<void>(parse_quantity("30g", Kind::areal_density, "--finish")),
                    InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(parse_quantity("8lb/ft3", Kind::areal_density, "--finish")),
                    InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(parse_quantity("30g/m2", Kind::density, "--density")),
                    InvalidInput);
}
