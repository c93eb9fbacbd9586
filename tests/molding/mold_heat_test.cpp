// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/mold_heat.h"

#include <cmath>

#include "support/near.h"

using namespace cavigram;

namespace {

// Silicone and a liquid mix, as docs/checks.md R6 and R7 have them (from memory).
const HeatRun kSilicone{0.2, 1150.0, 1300.0};
const HeatRun kMix{0.15, 1080.0, 1800.0};

}  // namespace

TEST_CASE("R5: rubber warmed by 30 K") {
    const FreeExpansion warm = free_expansion(3e-4, 30.0);
    CHECK_NEAR(warm.linear_share, 0.009, 1e-15);
    CHECK_NEAR(warm.volume_share, 0.02724373, 1e-7);
    CHECK(free_expansion(3e-4, -10.0).linear_share < 0.0);
}

TEST_CASE("R6: warmth takes some 750 s through 10 mm of silicone") {
    CHECK_NEAR(kSilicone.diffusivity_mm2_s(), 0.1338, 1e-3);
    CHECK_NEAR(heat_soak_s(10.0, kSilicone), 747.5, 1e-12);  // 100 mm2 / (0.2/(1150 1300) m2/s)
    CHECK_NEAR(heat_soak_s(20.0, kSilicone), 4.0 * 747.5, 1e-12);
    // By Fourier's series for a slab warmed on one face, insulated on the other, the far face has
    // warmed by 1 - 4/pi exp(-pi^2/4) = 89 % after that time: an order of magnitude, as promised.
    const double pi = 3.14159265358979;
    CHECK_NEAR(1.0 - 4.0 / pi * std::exp(-pi * pi / 4.0), 0.892, 1e-3);
}

TEST_CASE("R7: where a warm mold and a cool mix meet") {
    CHECK_NEAR(contact_temperature_c(kSilicone, 50.0, kMix, 25.0), 37.5783, 1e-5);
    CHECK_NEAR(contact_temperature_c(kSilicone, 30.0, kSilicone, 20.0), 25.0, 1e-14);
}
