// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/profile.h"

#include "cavigram/core/error.h"

#include "foam/closed_forms.h"
#include "support/near.h"

using namespace cavigram;

namespace {

constexpr double kSkin = 600.0;  // checks.md section 2
constexpr double kCore = 130.0;

// Mean density of a wall of thickness 2h under a shape.
double slab_mean(double h, const ProfileShape& shape) {
    const CavityAmounts wall = closed_forms::slab(h);
    return kCore + (kSkin - kCore) *
                       effective_skin_volume_mm3(wall.skin_curve, wall.deepest_mm, shape) /
                       wall.volume_mm3;
}

}  // namespace

TEST_CASE("S6: cosh slab of 40 mm (checks.md section 2)") {
    // The printed figures, to their last digit.
    CHECK_NEAR(slab_mean(20, cosh_shape(20, 2)), 176.9999998, 1e-9);
    CHECK_NEAR(slab_mean(20, cosh_shape(20, 5)), 247.4211927, 1e-9);
    for (const double decay : {0.5, 1.0, 7.0, 100.0}) {
        CHECK_NEAR(slab_mean(20, cosh_shape(20, decay)),
                   kCore + (kSkin - kCore) * decay / 20 * std::tanh(20 / decay), 1e-9);
    }
}

TEST_CASE("S7: power law of 8 (checks.md section 2)") {
    CHECK_NEAR(slab_mean(20, power_shape(20, 8)), 182.222222222, 1e-9);
    for (const double n : {1.0, 2.0, 3.5, 20.0}) {
        CHECK_NEAR(slab_mean(20, power_shape(20, n)), kCore + (kSkin - kCore) / (n + 1), 1e-9);
    }
}

TEST_CASE("S4: the exponential by this way and by that of skin.h") {
    for (const CavityAmounts& c : {closed_forms::sphere(30), closed_forms::box(100, 60, 40),
                                   closed_forms::cylinder(20, 300)}) {
        for (const double decay : {1.0, 2.0, 8.0}) {
            CHECK_NEAR(
                effective_skin_volume_mm3(c.skin_curve, c.deepest_mm, exponential_shape(decay)),
                effective_skin_volume_mm3(c.skin_curve, c.deepest_mm, SkinProfile::exponential,
                                          decay),
                1e-9);
        }
    }
}

TEST_CASE("S11: shapes lie between nothing and the whole part, and grow with their length") {
    const CavityAmounts c = closed_forms::cylinder(20, 300);
    double before = 0.0;
    for (const double decay : {0.1, 1.0, 5.0, 50.0}) {
        const double now =
            effective_skin_volume_mm3(c.skin_curve, c.deepest_mm, cosh_shape(20, decay));
        CHECK(now > before);
        CHECK(now < c.volume_mm3);
        before = now;
    }
}

TEST_CASE("a shape's slope is the slope of its share") {
    for (const ProfileShape& shape :
         {exponential_shape(3), cosh_shape(20, 3), power_shape(20, 4), power_shape(20, 1.5)}) {
        CHECK(shape.share(0.0) == doctest::Approx(1.0).epsilon(1e-14));
        for (const double d : {0.5, 3.0, 11.0, 19.0}) {
            const double h = 1e-5;
            // Central differences err by h^2 times the third derivative, here below 1e-10.
            CHECK(
                shape.slope_per_mm(d) ==
                doctest::Approx((shape.share(d + h) - shape.share(d - h)) / (2 * h)).epsilon(1e-6));
        }
    }
}

TEST_CASE("lengths and exponents that make no sense are refused") {
    CHECK_THROWS_AS(static_cast<void>(exponential_shape(0.0)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(cosh_shape(-1.0, 2.0)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(cosh_shape(20.0, 0.0)), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(power_shape(20.0, 0.5)), InvalidInput);
}
