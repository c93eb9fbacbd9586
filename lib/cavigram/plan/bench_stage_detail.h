// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/run_context.h"
#include "cavigram/foam/card.h"
#include "cavigram/plan/plan.h"
#include "cavigram/pour/bench.h"

namespace cavigram::detail {

// What the time budget needs of the part and the batch.
struct BenchPart {
    const TriMesh& mesh;
    double area_mm2 = 0.0;
    Vec3 up = Vec3::UnitZ();
    double pour_mass_g = 0.0;
};

// The time budget. \throw InvalidInput as bench_plan
BenchPlan bench_stage(const FoamCard& card, const BenchOptions& options, const BenchPart& part,
                      const RunContext& context);

}  // namespace cavigram::detail
