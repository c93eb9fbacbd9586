// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/sum.h"

#include "support/near.h"

using cavigram::CompensatedSum;

TEST_CASE("a compensated sum keeps what a plain sum loses") {
    // By hand 1 + 1e100 + 1 - 1e100 = 2. In wide use to tell this sum from Kahan's, which gives 0;
    // not an example of Neumaier's paper (both from memory).
    CompensatedSum sum;
    for (const double term : {1.0, 1e100, 1.0, -1e100}) {
        sum.add(term);
    }
    CHECK(sum.value() == 2.0);
}

TEST_CASE("joining two sums carries both errors") {
    CompensatedSum first;
    first.add(1e100);
    first.add(1.0);
    CompensatedSum second;
    second.add(-1e100);
    second.add(1.0);
    first.add(second);
    CHECK(first.value() == 2.0);
}

TEST_CASE("a million tenths") {
    CompensatedSum sum;
    for (int i = 0; i < 1000000; ++i) {
        sum.add(0.1);
    }
    CHECK_NEAR(sum.value(), 100000.0, 1e-15);
}
