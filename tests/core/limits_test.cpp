// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/limits.h"

#include <initializer_list>

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("both ends are allowed, nothing beyond them, and no number that is none") {
    CHECK(kPartSize_mm.hold(1.0));
    CHECK(kPartSize_mm.hold(10'000.0));
    CHECK_FALSE(kPartSize_mm.hold(0.999));
    CHECK_FALSE(kPartSize_mm.hold(10'001.0));
    CHECK_FALSE(kPartSize_mm.hold(0.0 / 0.0));
}

TEST_CASE("foams that there are lie within the limits, air and metals don't") {
    // 8 and 13 lb/ft3 (docs/checks.md U2); lightest of all, polyurethane wound foam at some
    // 20 kg/m3 and a solid elastomer at 1,100 to 1,250 kg/m3 (from memory).
    for (const double there_is : {20.0, 128.147707, 208.240024, 1100.0, 1250.0}) {
        CHECK(kFoam_kg_m3.hold(there_is));
    }
    // Air at 20 C and 101,325 Pa, aluminum (from memory; handbook values).
    CHECK_FALSE(kFoam_kg_m3.hold(1.204));
    CHECK_FALSE(kFoam_kg_m3.hold(2700.0));
}

TEST_CASE("places where people live lie within the limits of the air") {
    // ISO 2533: 101.325 kPa at sea level, 54.0 kPa at 5,000 m, above the highest towns.
    CHECK(kAir_kpa.hold(101.325));
    CHECK(kAir_kpa.hold(54.0));
}
