// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// Walls thinner than this are thin: as asked, else twice the skin, at least kHardToFill_mm.
double thin_limit_mm(const std::optional<double>& asked_mm, double skin_mm);

// Thickness all over the part, as far as it is colored for a limit, and as far as the picture of
// the density needs it. \throw Cancelled
ThicknessMap part_thickness(const Part& part, const TriangleBvh& surface, double limit_mm,
                            bool for_density, const RunContext& context);

// Thin places, where they are in words, and what thickening them would change. `map` was made for
// the same limit. \throw InvalidInput
ThinBlock thin_stage(const Part& part, ThicknessMap map, const MassProperties& mass,
                     double limit_mm, double skin_mm, const std::optional<double>& thicken_mm);

}  // namespace cavigram::detail
