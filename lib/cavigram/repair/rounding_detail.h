// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/repair/crossings.h"

namespace cavigram {

struct Rounding {
    std::vector<CrossingPair> left;  ///< Pairs that still cross.
    double moved_mm = 0.0;           ///< The farthest that a corner moved.
    double left_mm3 = 0.0;           ///< Area of those pairs times that way.
};

/// Clears a mesh whose corners were rounded from an exact one of what rounding did to it: corners
/// that fell together are joined, triangles flat to a line turned away, and corners of triangles
/// that cross put on a grid of 2^-36 of the size, and of 8 times as much in each further round.
[[nodiscard]] Rounding settle_rounding(TriMesh& mesh, const RunContext& context);

}  // namespace cavigram
