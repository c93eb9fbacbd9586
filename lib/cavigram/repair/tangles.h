// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/repair/crossings.h"

namespace cavigram {

/// What undo_tangles did.
struct Untangling {
    TriMesh mesh;                       ///< Without the tangles.
    std::size_t triangles_removed = 0;  ///< That were taken out.
    std::vector<CrossingPair> left;     ///< Pairs that still cross, of `mesh`.
    double volume_change_mm3 = 0.0;     ///< By what was done.
    double volume_below_mm3 =
        0.0;  ///< As for holes: how far the true volume may lie below and above.
    double volume_above_mm3 = 0.0;  ///< By how much the true volume could be more.
    std::vector<Vec3> places_mm;    ///< One for each tangle.
};

/// Takes out triangles that cross others of the same patch of surface (crossing triangles and two
/// rings around), with rings of their neighbors, and closes the holes anew, on a copy. What crosses
/// from elsewhere on the surface is no tangle and stays.
///
/// Up to six rounds, with one ring more each time, each with faired and then with plain patches; a
/// round is kept only if the surface is closed and fewer pairs cross than before, and never if it
/// would take out more than a tenth of the area or change the volume by more than 2 %.
///
/// \pre closed, manifold; `pairs` from crossing_pairs
[[nodiscard]] Untangling undo_tangles(const TriMesh& mesh, const std::vector<CrossingPair>& pairs,
                                      const RunContext& context = {});

}  // namespace cavigram
