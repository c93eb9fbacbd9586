// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/venting/placed_holes.h"

namespace cavigram::detail {

// Whether the part takes its pour hole: said where it was made smaller, moved, or does not fit.
// \throw InvalidInput for a hole that was given on the underside
std::vector<Finding> pour_hole_findings(const PlacedHoles& holes, const HoleRules& rules);

// What else is to be said of where the holes are.
std::vector<Finding> hole_findings(const PlacedHoles& holes, const HoleRules& rules);

}  // namespace cavigram::detail
