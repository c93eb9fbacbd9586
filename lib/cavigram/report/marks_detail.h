// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// A hole of the mold as pictures, templates and meshes show it.
struct Mark {
    bool pour_hole = false;
    /// Which of AirBlock::openings for a pour hole, of AirBlock::vents for a vent.
    std::size_t index = 0;
    bool plugged = false;  ///< A pour hole that is closed before the foam rises.
    std::string label;     ///< "P" (or "P1", "P2" ...) for pour holes, "1", "2" ... for vents.
    Vec3 at_mm = Vec3::Zero();
    double diameter_mm = 0.0;  ///< 0: not known.
};

/// Pour holes first, then the vents in the plan's order. Empty without plan.air.
[[nodiscard]] std::vector<Mark> marks_of(const Plan& plan);

}  // namespace cavigram
