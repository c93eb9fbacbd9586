// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// The part with what the plan says about it, as files' bytes.
struct AnnotatedPart {
    std::string ply;  ///< One mesh, colored by vertex.
    std::string glb;  ///< A node each for `part`, `pour hole P`, `vent 1`, ..., `parting line`.
};

/// The part in light gray, its thin places in the colors of viridis by thickness, and above it a
/// funnel for each pour hole and a rod for each vent, pointing the way that is up for the pour.
/// Funnels are yellow, rods dark violet: they differ in shape as well as in color. The file is of
/// the full mesh. A thin bar follows the parting line.
///
/// \pre plan.part
[[nodiscard]] AnnotatedPart annotated_part(const Plan& plan);

}  // namespace cavigram
