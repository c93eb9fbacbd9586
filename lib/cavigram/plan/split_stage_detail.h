// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// The search for a pull, and its rows ranked together with the ways up.
struct Together {
    PullSearch search;
    WaysAndPulls ranked;
};

// Ways up and pulls as one plan; of either only the one that is given, if one is. \throw
// InvalidInput, Cancelled
Together rank_together(const TriMesh& mesh, const TriangleBvh& surface, const MassProperties& mass,
                       const Orientations& ways, const SplitChoice& choice,
                       const AirOptions& options, const RunContext& context);

// Pull, parting line and what is caught; how far the holes of `air`, if it is known, lie from the
// line. `options` has the way up that is planned for. The pull is that of the first pair of
// `together`, if there is one. \throw InvalidInput, Cancelled
SplitBlock split_stage(const TriMesh& mesh, const TriangleBvh& surface, const SplitChoice& choice,
                       const AirOptions& options, const AirBlock* air,
                       std::optional<Together> together, const RunContext& context);

}  // namespace cavigram::detail
