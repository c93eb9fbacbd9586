// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/double_count.h"

#include <cmath>

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"

using namespace cavigram;

TEST_CASE("what boxes share is counted once too often, and the error holds it") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    for (const double shift : {1.0, 7.0, 20.0, 39.0}) {
        const DoubleCount counted =
            double_count(joined(box, transformed(box, 1.0, Vec3(shift, shift, shift))));
        const double shared = std::pow(40.0 - shift, 3);
        CHECK(std::abs(counted.excess_mm3 - shared) <= counted.error_mm3);
        CHECK(counted.error_mm3 < 1000.0);
    }
    const DoubleCount thrice = double_count(joined(joined(box, box), box));
    CHECK(thrice.excess_mm3 == doctest::Approx(2 * 64000.0));
}

TEST_CASE("nothing is counted twice where nothing crosses, and the other way around it is less") {
    const TriMesh torus = torus_solid(50, 15, 60).mesh;
    CHECK(double_count(torus).excess_mm3 == 0.0);
    CHECK(double_count(torus).error_mm3 == 0.0);
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const TriMesh apart = joined(box, transformed(flipped(box), 0.5, Vec3(0, 0, 60)));
    const DoubleCount negative = double_count(apart);
    CHECK(std::abs(negative.excess_mm3 + 8000.0) <= negative.error_mm3);
}
