// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// What the options and the card ask of the foam. \throw InvalidInput where they contradict
FoamRequest foam_request(const FoamOptions& options, const FoamCard& card);

// What the foam's stage rests on beside options and card.
struct FoamConditions {
    const TriMesh& mesh;
    const TriangleBvh& surface;  // of `mesh`
    const MeasuresBlock& measures;
    const PartRequest& part;  // for parts that are poured from the same cup
};

struct FoamStage {
    FoamBlock block;
    Batch batch;
    std::vector<Finding> findings;
};

// Skin and core, the part's mass, and what goes into the cup. \throw InvalidInput, UnusableInput,
// Cancelled
FoamStage foam_stage(const FoamOptions& options, const FoamCard& card, const FoamRequest& request,
                     const FoamConditions& conditions, const RunContext& context);

}  // namespace cavigram::detail
