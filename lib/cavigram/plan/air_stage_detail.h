// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/foam/card.h"
#include "cavigram/plan/plan.h"
#include "cavigram/pour/orientations.h"
#include "cavigram/venting/air_tree.h"

namespace cavigram::detail {

// What the air depends on beside the part and its options.
struct AirConditions {
    double volume_mm3 = 0.0;             // of the part
    double rate_mm3_s = 0.0;             // air that leaves at the fastest of the rise
    double pour_hole_width_mm = 15.0;    // as BenchOptions
    std::optional<double> pressure_kpa;  // the foam's, an upper bound; none: not known
    std::optional<double> liquid_mm3;    // before it rises; none: not known
    PlaceFrame frame;                    // by which places are told
};

struct AirStage {
    AirBlock block;
    std::vector<Finding> findings;
};

// Pockets, vents, pools and the checks on them, for one way up. \throw InvalidInput, Cancelled
AirStage air_stage(const AirTreeBuilder& solid, const AirOptions& options,
                   const AirConditions& conditions, const RunContext& context);

// Only the pour holes and vents of that: what a person would drill for another way up.
// \throw InvalidInput, Cancelled
MoldHoles mold_holes(const AirTreeBuilder& solid, const AirOptions& options,
                     const AirConditions& conditions, const RunContext& context);

// How fast air leaves at the fastest of the card's rise.
double air_rate_mm3_s(const FoamCard& card, double volume_mm3);

// What the search for a way up is told.
OrientationOptions orientation_options(const AirOptions& options);

}  // namespace cavigram::detail
