// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/pour/rise_grid.h"

namespace cavigram {

/// Where two fronts of foam meet: a seam that may stay weak or be seen.
struct RiseSeam {
    Vec3 at_mm = Vec3::Zero();  ///< A place on it, near its middle.
    double area_mm2 = 0.0;      ///< Of the plane that it nearly is.
    double time_s = 0.0;        ///< When the fronts begin to meet.
};

/// Seams by the times at which foam gets to each cell (infinity: never), largest first, no more
/// than five.
///
/// Two cells side by side lie on a seam if foam came to both from the far side, and the directions
/// in which it ran, one cell behind each, differ by more than 120 degrees (common practice, no
/// source: fronts that meet at a smaller angle run on together). Such faces that touch are one
/// seam; fewer than eight are noise of the cells. It tells where fronts meet, not whether they
/// bond.
///
/// O(n)
///
/// \pre one time for each cell
[[nodiscard]] std::vector<RiseSeam> meeting_seams(const RiseGrid& grid,
                                                  const std::vector<double>& arrival_s);

}  // namespace cavigram
