// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/core/run_context.h"
#include "cavigram/foam/card.h"
#include "cavigram/plan/plan.h"
#include "cavigram/pour/bench.h"

namespace cavigram::detail {

// What the clock needs of the part and its foam.
struct BenchPart {
    const TriMesh& mesh;
    const MassProperties& mass;
    Vec3 up = Vec3::UnitZ();  // as it stands while it rises
    const FoamBlock& foam;
    PourHoleAfter pour_hole_after = PourHoleAfter::vented;
    double pour_hole_mm = kPourHole_mm;         // as it was settled
    std::optional<double> widest_hole_mm = {};  // what the part takes there; none: not known
    const Parting* parting = nullptr;           // how the mold is split, where that is known
};

// The clock of one pour: all cups that it takes, and all molds that are filled from them. \throw
// InvalidInput as bench_plan
BenchPlan bench_stage(const FoamCard& card, const BenchOptions& options, const BenchPart& part,
                      const RunContext& context);

// The same steps by the deadlines of another part's own mold: its liquid, its halves, its cavity.
// What would be said of it is about that mold. \throw InvalidInput as bench_plan
BenchPlan also_clock(const FoamCard& card, const BenchPlan& first, const AlsoPoured& other,
                     const Vec3& up, const RunContext& context);

}  // namespace cavigram::detail
