// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/repair/crossings.h"

namespace cavigram {

/// What unite_crossing did.
struct Uniting {
    TriMesh mesh;
    std::size_t groups = 0;  ///< Groups of crossing shells that became one.
    std::size_t shells = 0;  ///< How many shells these were.
    std::size_t failed = 0;  ///< Groups that were kept as they are, each shell looking outward.
    std::size_t broken_hollows =
        0;  ///< Of these, groups in which a hollow breaks through its wall.
    double broken_hollow_mm3 = 0.0;  ///< Volume of the hollows that do.
    double overlap_mm3 = 0.0;        ///< Volume that the groups' shells counted more than once.
    double overlap_kept_mm3 =
        0.0;  ///< As estimated, for the groups that failed: the mesh counts it still.
    double overlap_error_mm3 = 0.0;  ///< Of that estimate.
    std::vector<Vec3> places_mm;     ///< One where each group crosses, united ones first.
};

/// Makes one solid of shells that cross each other: their union.
///
/// CGAL's corefinement, shell by shell in order of their first triangle. A result is taken only if
/// it is closed, its volume lies between the largest and the sum, and its inside agrees with the
/// shells' winding numbers at 2000 points drawn by a fixed seed. Otherwise the shells stay, and how
/// much they overlap is counted by winding numbers on a grid of 48^3 points. A group in which a
/// hollow breaks through its wall is left as it is. Groups of which any
/// shell also crosses itself are tried too. \pre closed; `pairs` from crossing_pairs
[[nodiscard]] Uniting unite_crossing(const TriMesh& mesh, const Shells& shells,
                                     const std::vector<CrossingPair>& pairs,
                                     const RunContext& context = {});

}  // namespace cavigram
