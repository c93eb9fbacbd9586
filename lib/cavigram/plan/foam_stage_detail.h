// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/part_nodes_detail.h"
#include "cavigram/plan/plan.h"
#include "cavigram/plan/skin_stage_detail.h"

namespace cavigram::detail {

// Skin and core (skin_stage), the parts poured with this one, the window of the pour, and what goes
// into the cup. `others` is what is known of those parts. \throw InvalidInput, UnusableInput,
// Cancelled
FoamStage foam_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions, std::vector<PartNodes>& others,
                     const RunContext& context);

}  // namespace cavigram::detail
