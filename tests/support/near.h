// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>

#include <doctest/doctest.h>

/// Holds `value` against `expected` within `relative` of the larger of the two; says all three when
/// it fails.
#define CHECK_NEAR(value, expected, relative)                                                      \
    do {                                                                                           \
        const double near_value = (value);                                                         \
        const double near_expected = (expected);                                                   \
        INFO("value ", near_value, ", expected ", near_expected, ", relative limit ", (relative)); \
        CHECK(std::abs(near_value - near_expected) <=                                              \
              (relative)*std::max(std::abs(near_value), std::abs(near_expected)));                 \
    } while (false)
