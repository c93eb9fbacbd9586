// SPDX-License-Identifier: GPL-3.0-or-later
// Many sequences of changes, as session_test follows a few.
#include "plan/session_changes.h"

TEST_CASE("twenty sequences of changes, refusals and stops give the bytes of fresh plans") {
    const Parts parts;
    for (std::uint32_t seed = 1; seed <= 20; ++seed) {
        follow(parts, seed, 12);
    }
}
