// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/iso_index.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// checks.md N2, an invented formula: polyol with OH number 28, ethylene glycol, water.
const std::vector<ActiveIngredient> kPartB = {
    {95, polyol_equivalent_weight(28)}, {4, 31.034}, {0.6, 9.0075}};

}  // namespace

TEST_CASE("N1: equivalent weight of a 33.6 % isocyanate") {
    CHECK_NEAR(isocyanate_equivalent_weight(33.6), 125.0595, 1e-6);
    CHECK_NEAR(polyol_equivalent_weight(28), 2003.5714, 1e-7);
}

TEST_CASE("N2: index of the invented formula") {
    CHECK_NEAR(balanced_parts_of_a(kPartB, 23), 44.379949, 1e-6);
    CHECK_NEAR(isocyanate_index({50, 100}, kPartB, 23), 112.66349, 1e-6);
    CHECK_NEAR(isocyanate_index({30, 100}, kPartB, 23), 67.59809, 1e-6);
}

TEST_CASE("N3: less A, proportionally less index, for any formula") {
    for (const double nco : {15.0, 23.0, 33.6}) {
        CHECK_NEAR(
            isocyanate_index({30, 100}, kPartB, nco) / isocyanate_index({50, 100}, kPartB, nco),
            0.6, 1e-14);
    }
}
