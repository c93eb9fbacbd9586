// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/pour/bench.h"
#include "cavigram/pour/orientations.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/placed_holes.h"

namespace cavigram::detail {

// What the air depends on beside the part and its options.
struct AirConditions {
    double volume_mm3 = 0.0;  // of the part
    double rate_mm3_s = 0.0;  // air that leaves at the fastest of the rise, above 0
    std::optional<double> pour_hole_width_mm;  // as BenchOptions
    std::optional<PourMethod> method;          // as BenchOptions
    double wall_mm = kMoldWall_mm;             // length of the holes
    double pressure_kpa = 0.0;                 // the foam's, about
    std::optional<double> liquid_mm3;          // before it rises; none: not known
    std::optional<double> mean_kg_m3;          // of the part; none: not known
    AirBasis rests_on;                         // what of the foam the above rest on
    PlaceFrame frame;                          // by which places are told
};

struct AirStage {
    AirBlock block;
    std::vector<Finding> findings;
};

// By what rules holes are placed. \pre conditions.rate_mm3_s above 0
HoleRules hole_rules(const AirOptions& options, const AirConditions& conditions);

// Pockets, vents, pools and the checks on them, for one way up and its holes. \throw InvalidInput,
// Cancelled
AirStage air_stage(const AirTreeBuilder& solid, const PlacedHoles& holes, const AirOptions& options,
                   const AirConditions& conditions, const RunContext& context);

// What becomes of the pour hole: as asked, or chosen by the method. \throw InvalidInput where that
// and what else is asked for contradict each other
PourHoleAfter settled_pour_hole(const AirOptions& options, std::optional<PourMethod> method);

// What the search for a way up is told.
OrientationOptions orientation_options(const AirOptions& options, const AirConditions& conditions);

}  // namespace cavigram::detail
