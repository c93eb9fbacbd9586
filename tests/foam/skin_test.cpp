// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/skin.h"

#include "foam/closed_forms.h"
#include "support/near.h"

using namespace cavigram;

namespace {

double effective(const CavityAmounts& c, SkinProfile profile, double t) {
    return effective_skin_volume_mm3(c.skin_curve, c.deepest_mm, profile, t);
}

}  // namespace

TEST_CASE("S1: the skin of a box is the volume within its thickness, not area times thickness") {
    CHECK_NEAR(effective(closed_forms::box(100, 60, 40), SkinProfile::step, 2), 46464.0, 1e-14);
}

TEST_CASE("S4: the exponential skin of a sphere") {
    // Excess = 4 pi (L R^2 - 2 L^2 R + 2 L^3 (1 - exp(-R/L))) times the density difference
    // (checks.md S4).
    const double R = 30;
    const double L = 2;
    const double exact =
        4 * std::numbers::pi * (L * R * R - 2 * L * L * R + 2 * L * L * L * (1 - std::exp(-R / L)));
    CHECK_NEAR(effective(closed_forms::sphere(R), SkinProfile::exponential, L), exact, 1e-9);
}

TEST_CASE("on a flat wall the exponential weighs as much as the step of the same thickness") {
    const CavityAmounts wall = closed_forms::slab(100);
    CHECK_NEAR(effective(wall, SkinProfile::exponential, 2), effective(wall, SkinProfile::step, 2),
               1e-12);
    // With a middle: 2 L (1 - exp(-h/L)).
    const CavityAmounts thin = closed_forms::slab(3);
    CHECK_NEAR(effective(thin, SkinProfile::exponential, 2), 4 * (1 - std::exp(-1.5)), 1e-10);
}

TEST_CASE("S11: no thickness, no skin; more thickness, more skin; never more than the part") {
    for (const SkinProfile profile : {SkinProfile::step, SkinProfile::exponential}) {
        const CavityAmounts c = closed_forms::cylinder(20, 300);
        CHECK(effective(c, profile, 0) == 0.0);
        double before = 0.0;
        for (const double t : {0.01, 0.1, 0.5, 1.0, 2.0, 5.0, 12.0, 19.0, 1000.0}) {
            const double now = effective(c, profile, t);
            CHECK(now > before);
            CHECK(now <= c.volume_mm3 * (1 + 1e-12));
            before = now;
        }
        CHECK(effective(c, SkinProfile::step, 25) == c.volume_mm3);
    }
}

TEST_CASE("the thickness for a skin volume is found back") {
    const CavityAmounts c = closed_forms::box(100, 60, 40);
    for (const SkinProfile profile : {SkinProfile::step, SkinProfile::exponential}) {
        for (const double t : {0.3, 2.0, 11.0}) {
            const double volume = effective(c, profile, t);
            CHECK_NEAR(thickness_for_skin_volume_mm(c.skin_curve, c.deepest_mm, profile, volume), t,
                       1e-9);
        }
    }
    CHECK(thickness_for_skin_volume_mm(c.skin_curve, c.deepest_mm, SkinProfile::step, 1e9) ==
          c.deepest_mm);
}
