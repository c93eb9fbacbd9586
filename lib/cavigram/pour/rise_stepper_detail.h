// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

namespace cavigram::detail {

// What the parts of RiseStepper share.
inline constexpr std::size_t kBelow = 4;  // sides as in RiseGrid::neighbor
inline constexpr std::size_t kAbove = 5;
inline constexpr double kTiny = 1e-9;  // of a cell, and of the highest pressure: rounding
// Where a front stands in a cell that is not full, as a share of it; and where nothing passes.
inline constexpr double kMiddle = 0.5;
inline constexpr double kNowhere = 1e9;

}  // namespace cavigram::detail
