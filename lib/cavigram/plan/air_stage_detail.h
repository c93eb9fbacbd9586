// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/plan/kept_detail.h"
#include "cavigram/plan/plan.h"
#include "cavigram/pour/bench.h"
#include "cavigram/pour/orientations.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/necks.h"
#include "cavigram/venting/placed_holes.h"
#include "cavigram/venting/pools.h"
#include "cavigram/venting/tree_comparison.h"

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

// Pour holes and vents, and what air they leave; nothing yet of what takes longer.
AirBlock opened_air(const AirTree& tree, const PlacedHoles& holes, const AirOptions& options,
                    const AirConditions& conditions);

struct TreeKey {
    Shared<AirTreeBuilder> solid;
    Vec3 up = Vec3::UnitZ();
    friend bool operator==(const TreeKey&, const TreeKey&) = default;
    [[nodiscard]] AirTree make(const RunContext& context) const;
};

struct HolesKey {
    Shared<AirTreeBuilder> solid;
    Shared<AirTree> tree;
    HoleRules rules;
    friend bool operator==(const HolesKey&, const HolesKey&) = default;
    [[nodiscard]] PlacedHoles make(const RunContext& context) const;
};

struct PoolsKey {
    Shared<AirTreeBuilder> solid;
    Shared<AirTree> upside_down;
    PoolOptions options;
    friend bool operator==(const PoolsKey&, const PoolsKey&) = default;
    [[nodiscard]] Pools make(const RunContext& context) const;
};

// Narrow necks, with all holes as openings.
struct NecksKey {
    Shared<AirTreeBuilder> solid;
    Vec3 up = Vec3::UnitZ();
    Shared<PlacedHoles> holes;
    double width_mm = 0.0;
    friend bool operator==(const NecksKey&, const NecksKey&) = default;
    [[nodiscard]] NarrowNecks make(const RunContext& context) const;
};

// The same air by upright columns, a second method that shares nothing but the mesh.
struct SecondLook {
    int columns = 0;
    double spacing_mm = 0.0;
    TreeComparison seen;
};
struct SecondKey {
    Shared<AirTreeBuilder> solid;
    Shared<AirTree> tree;
    double least_mm3 = 0.0;  // smaller pieces need no partner
    friend bool operator==(const SecondKey&, const SecondKey&) = default;
    [[nodiscard]] SecondLook make(const RunContext& context) const;
};

// What is known of the air, for the last few ways up and holes.
struct AirNodes {
    Kept<TreeKey> tree{4};    // each way up takes its own and the one upside down
    Kept<HolesKey> holes{2};  // as planned, and as if no side were seen
    Kept<PoolsKey> pools;
    Kept<NecksKey> necks;
    Kept<SecondKey> second;
};

// Pockets, vents, pools and the checks on them, for one way up and its holes, which were placed by
// hole_rules. \throw InvalidInput, Cancelled
AirStage air_stage(const Shared<AirTreeBuilder>& solid, const Shared<PlacedHoles>& holes,
                   const AirOptions& options, const AirConditions& conditions, AirNodes& nodes,
                   const RunContext& context);

// What becomes of the pour hole: as asked, or chosen by the method. \throw InvalidInput where that
// and what else is asked for contradict each other
PourHoleAfter settled_pour_hole(const AirOptions& options, std::optional<PourMethod> method);

// What the search for a way up is told.
OrientationOptions orientation_options(const AirOptions& options, const AirConditions& conditions);

}  // namespace cavigram::detail
