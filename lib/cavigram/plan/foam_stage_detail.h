// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/foam_choice_detail.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// What the foam's stage rests on beside options and cards.
struct FoamConditions {
    const TriMesh& mesh;
    const TriangleBvh& surface;  // of `mesh`
    const MeasuresBlock& measures;
    const PartRequest& part;              // for parts that are poured from the same cup
    double pour_hole_mm = 0.0;            // width; 0: no pour hole
    std::optional<double> temperature_c;  // today's, for the width of the vents
    int vents = 0;                        // as many as are given, or as may be made
};

struct FoamStage {
    FoamBlock block;
    std::optional<Batch> batch;
    std::vector<Finding> findings;
};

// Mix, skin and core of the part itself. \throw InvalidInput, UnusableInput, Cancelled
FoamStage skin_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions, const RunContext& context);

// That, the window of the pour, and what goes into the cup.
FoamStage foam_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions, const RunContext& context);

}  // namespace cavigram::detail
