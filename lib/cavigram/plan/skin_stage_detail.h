// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/plan/foam_choice_detail.h"
#include "cavigram/plan/plan.h"

namespace cavigram::detail {

// What the foam's stages rest on beside options and cards.
struct FoamConditions {
    const MeasuresBlock& measures;        // of what of the part is foam
    const DepthVolume& depth;             // with skin_depth_options
    const PartRequest& part;              // for parts that are poured from the same cup
    double pour_hole_width_mm = 0.0;      // 0: no pour hole
    std::optional<double> temperature_c;  // today's, for the width of the vents
    int vents = 0;                        // as many as are given, or as may be made
};

struct FoamStage {
    FoamBlock block;
    std::vector<Finding> findings;
};

// How the depth is sampled for the mix that was chosen before the part was known.
DepthOptions skin_depth_options(const FoamOptions& options, const FoamChoice& choice,
                                const MassProperties& mass);

// Mix, skin and core of the part itself; nothing yet of holes, cup and window. \throw InvalidInput,
// UnusableInput
FoamStage skin_stage(const FoamOptions& options, const std::vector<FoamCard>& family,
                     const FoamConditions& conditions);

// The depths at which the curve must be right: around the skin, which for a derived one is known
// only as its volume, and is a little deeper than volume over area.
std::vector<double> skin_depths_mm(const FoamRequest& request, const MassProperties& mass);

// A part as the foam sees it. \pre `depth` outlives the result
CavityAmounts cavity_amounts(const MeasuresBlock& measures, const DepthVolume& depth);

// Flash over part, as the shop's castings lose it.
double flash_share(const ShopFit& shop);

}  // namespace cavigram::detail
