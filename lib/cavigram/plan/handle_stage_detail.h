// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/kept_detail.h"
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
struct RodKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    Shared<MeasuresBlock> measures;
    HandleOptions options;
    friend bool operator==(const RodKey&, const RodKey&) = default;
    [[nodiscard]] RodStage make(const RunContext& context) const;
};

// The foam as a hand meets it.
struct HandFoam {
    SkinOnCore layers;
    double solid_mpa = 0.0;   // Young's modulus of the mix without gas
    double mean_kg_m3 = 0.0;  // of the part
    double part_g = 0.0;      // without a rod
    friend bool operator==(const HandFoam&, const HandFoam&) = default;
};
HandFoam hand_foam(const FoamBlock& foam);

struct HandleStage {
    HandleBlock block;
    std::vector<Finding> findings;  // no_beam
};

// Weight and droop. \throw InvalidInput for grips off the part, Cancelled
struct HandleKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    Shared<MeasuresBlock> measures;
    HandFoam foam;
    HandleOptions options;
    Shared<RodStage> rod;  // none: no armature was given
    friend bool operator==(const HandleKey&, const HandleKey&) = default;
    [[nodiscard]] HandleStage make(const RunContext& context) const;
};

}  // namespace cavigram::detail
