// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_course.h"

#include <cmath>
#include <limits>

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

namespace {

RiseCourseOptions some(RiseCurve curve) {
    RiseCourseOptions options;
    options.times = {.work_s = 20.0, .risen_s = 180.0, .expansion = 8.435965, .curve = curve};
    options.viscosity_pa_s = 2.0;
    return options;
}

}  // namespace

TEST_CASE("growth is the slope of the volume's logarithm") {
    for (const RiseCurve curve :
         {RiseCurve::gompertz, RiseCurve::first_order, RiseCurve::logistic}) {
        const RiseCourse course(some(curve));
        for (const double t : {21.0, 40.0, 90.0, 150.0}) {
            const double h = 1e-4;
            const double slope =
                std::log(course.expansion(t + h) / course.expansion(t - h)) / (2.0 * h);
            CHECK_NEAR(course.growth_per_s(t), slope, 1e-6);
            CHECK_NEAR(course.reached_s(course.expansion(t)), t, 1e-9);
        }
        CHECK(course.growth_per_s(19.0) == 0.0);
        CHECK(course.growth_per_s(180.0) == 0.0);
        CHECK_NEAR(course.expansion(0.0), 1.0, 1e-12);
        CHECK(course.expansion(1000.0) == course.expansion(180.0));
        CHECK(course.reached_s(8.43) == std::numeric_limits<double>::infinity());
    }
}

// docs/checks.md E13, moved by the work time: b c exp(-c t) at 0 and at 90 s. Here 98 % comes 160 s
// after the start, so c is 0.025884642 times 180/160.
TEST_CASE("growth of the standard curve") {
    const RiseCourse course(some(RiseCurve::gompertz));
    const double c = 0.025884642 * 180.0 / 160.0;
    CHECK_NEAR(course.growth_per_s(20.0), 2.13250416 * c, 1e-7);
    CHECK_NEAR(course.growth_per_s(110.0), 2.13250416 * c * std::exp(-90.0 * c), 1e-7);
}

TEST_CASE("it thickens toward the gel time") {
    RiseCourseOptions options = some(RiseCurve::gompertz);
    CHECK(RiseCourse(options).gel_guessed());
    options.gel_s = 120.0;
    const RiseCourse course(options);
    CHECK_FALSE(course.gel_guessed());
    CHECK(course.viscosity_pa_s(10.0) == 2.0);
    CHECK_NEAR(course.viscosity_pa_s(100.0), 50.0, 1e-12);  // four fifths of the way: 25 times
    CHECK(std::isinf(course.viscosity_pa_s(120.0)));
    CHECK(course.expansion(150.0) == course.expansion(120.0));
    options.gel_s = 15.0;
    CHECK_THROWS_AS(RiseCourse{options}, InvalidInput);
    options.gel_s = 120.0;
    options.viscosity_pa_s = 0.0;
    CHECK_THROWS_AS(RiseCourse{options}, InvalidInput);
}
