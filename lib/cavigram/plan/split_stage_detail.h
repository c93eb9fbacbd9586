// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// Pull, parting line and what is caught; how far the holes of `air`, if it is known, lie from the
// line. `options` has the way up that is planned for. \throw InvalidInput, Cancelled
SplitBlock split_stage(const TriMesh& mesh, const TriangleBvh& surface, const SplitChoice& choice,
                       const AirOptions& options, const AirBlock* air, const RunContext& context);

}  // namespace cavigram::detail
