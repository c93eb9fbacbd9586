// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// A map of all ways up as an SVG picture: how much air stays for each, so that a person sees how
/// forgiving the choice is.
///
/// Two half spheres side by side (z of the part upward, and downward), each in Lambert's azimuthal
/// equal-area projection: equal areas on the paper are equally many directions. Colored by viridis
/// from no air to the 98th percentile; beyond, the last color. The rows are marked by shape as
/// well: a star for the first choice, or for the one that is planned where it is another; circles
/// with their rank for the others, a square for the way up asked for. Same orientations, same
/// bytes.
///
/// O(cells * directions).
///
/// \pre found.scanned is not empty.
[[nodiscard]] std::string sphere_map_svg(const Orientations& found, int planned_rank = 1);

/// The same for a plan. \pre plan.orientations, not empty
[[nodiscard]] std::string sphere_map_svg(const Plan& plan);

}  // namespace cavigram
