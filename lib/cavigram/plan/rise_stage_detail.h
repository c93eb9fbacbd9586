// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

struct RiseStage {
    std::optional<RiseBlock> block;  // none: nothing lets air out
    std::vector<Finding> findings;
};

// The foam rising in the mold that the plan has so far: its foam, its holes, its way up, its
// method. With `cases`, also without each vent, with the pour hole the other way, and with a tenth
// more and less foam. \pre foam, air and bench are there
RiseStage rise_stage(const Plan& plan, const TriangleBvh& surface, bool cases,
                     const RunContext& context);

}  // namespace cavigram::detail
