// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

struct RodStage {
    std::optional<LaidRod> laid;
    std::vector<Finding> findings;  // armature_unfit
};

// Where the armature that was given lies. It rests on the shape alone, so that the foam can be
// weighed without what it displaces. \pre options.armature. \throw InvalidInput for grips off the
// part, Cancelled
RodStage rod_stage(const Part& part, const TriangleBvh& surface, const MassProperties& mass,
                   const HandleOptions& options, const RunContext& context);

struct HandleStage {
    HandleBlock block;
    std::vector<Finding> findings;  // no_beam
};

// Weight and droop. `rod` is what rod_stage laid. \throw InvalidInput for grips off the part,
// Cancelled
HandleStage handle_stage(const Part& part, const TriangleBvh& surface, const MassProperties& mass,
                         const FoamBlock& foam, const HandleOptions& options,
                         const std::optional<LaidRod>& rod, const RunContext& context);

}  // namespace cavigram::detail
