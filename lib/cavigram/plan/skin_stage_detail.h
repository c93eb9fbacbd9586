// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// What the foam's stages rest on beside options and cards.
struct FoamConditions {
    const TriMesh& mesh;
    const TriangleBvh& surface;  // of `mesh`
    const MeasuresBlock& measures;
    const PartRequest& part;              // for parts that are poured from the same cup
    double pour_hole_width_mm = 0.0;      // 0: no pour hole
    std::optional<double> temperature_c;  // today's, for the width of the vents
    int vents = 0;                        // as many as are given, or as may be made
};

struct FoamStage {
    FoamBlock block;
    std::vector<Finding> findings;
};

// Mix, skin and core of the part itself; nothing yet of holes, cup and window. \throw InvalidInput,
// UnusableInput, Cancelled
FoamStage skin_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions, const RunContext& context);

// The depths at which the curve must be right: around the skin, which for a derived one is known
// only as its volume, and is a little deeper than volume over area.
std::vector<double> skin_depths_mm(const FoamRequest& request, const MassProperties& mass);

// A part as the foam sees it. \pre `depth` outlives the result
CavityAmounts cavity_amounts(const MeasuresBlock& measures, const DepthVolume& depth);

// Flash over part, as the shop's castings lose it.
double flash_share(const ShopFit& shop);

}  // namespace cavigram::detail
