// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// By how much the divergence theorem's volume of a closed surface that crosses itself is too
/// large.
struct DoubleCount {
    double excess_mm3 = 0.0;  ///< Negative where the surface winds around the other way.
    double error_mm3 = 0.0;   ///< Four standard deviations of it.
};

/// Integral of (winding number less one where that is at least one) along 2 x 96 x 96 vertical
/// lines, two at random places in each cell of a grid; the difference of the two gives the variance
/// of their mean (stratified sampling: Cochran, "Sampling techniques", 1977, ch. 5). O(lines times
/// (log n + crossings)).
///
/// \pre closed, neighbors consistent
/// \throw Cancelled
[[nodiscard]] DoubleCount double_count(const TriMesh& mesh, const RunContext& context = {});

}  // namespace cavigram
