// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/pour/rise.h"

namespace cavigram::detail {

/// When the body of the foam gets to each cell, where a film that swells on the walls is ahead of
/// it: half of the room within three cells has been reached. Cells that are never reached stay so.
[[nodiscard]] std::vector<double> body_arrival(const RiseGrid& grid,
                                               const std::vector<double>& arrival_s);

/// Where foam gets later than to every cell around it; the latest first, apart from each other.
void late_places(const RiseGrid& grid, Rise& rise);

/// Room without foam that is not within cut-off air, by pieces, larger than `smallest_mm3`; none of
/// the cells `unreached`.
void unfilled_places(const RiseGrid& grid, const std::vector<std::uint8_t>& unreached,
                     double smallest_mm3, Rise& rise);

}  // namespace cavigram::detail
