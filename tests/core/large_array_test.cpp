// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/large_array.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <limits>
#include <stdexcept>

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("large arrays hold what was asked for, of any size") {
    // Around one, two and three pages of 2 MiB, where the advised range begins and ends.
    for (const std::size_t count :
         {std::size_t{0}, std::size_t{1}, std::size_t{524287}, std::size_t{524288},
          std::size_t{524289}, std::size_t{1600000}}) {
        std::vector<std::int32_t> values;
        resize_large(values, count, -7);
        REQUIRE(values.size() == count);
        CHECK(std::count(values.begin(), values.end(), -7) == static_cast<std::ptrdiff_t>(count));
        std::vector<std::array<double, 3>> room;
        reserve_large(room, count);
        CHECK(room.empty());
        CHECK(room.capacity() >= count);
    }
}

TEST_CASE("what no machine holds is refused as usual") {
    std::vector<double> values;
    // More than a vector can number: no allocation is tried.
    CHECK_THROWS_AS(resize_large(values, std::numeric_limits<std::size_t>::max()),
                    std::length_error);
    CHECK(values.empty());
}
