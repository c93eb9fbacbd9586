// SPDX-License-Identifier: GPL-3.0-or-later
// Every recipe of harm on the exact solids; corruption_bench does the same with more seeds and with
// scans.
#include "corruption_run.h"

using namespace corruption;

TEST_CASE(
    "harmed solids come back closed and without crossings, with a range that holds the truth") {
    const Row total = run(exact_bodies(), 1);
    CHECK(total.mended >= 0.98 * total.cases);
    CHECK(median(total.errors) < 0.01);
    CHECK(total.held >= 0.95 * total.cases);
}
