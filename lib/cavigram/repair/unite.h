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
    TriMesh mesh;                    ///< Shells that cross nothing first, as they were.
    std::size_t untouched = 0;       ///< Triangles of those.
    std::size_t groups = 0;          ///< Groups of two or more crossing shells that became one.
    std::size_t shells = 0;          ///< How many shells these were.
    std::size_t crossing_alone = 0;  ///< Shells that crossed only themselves.
    std::size_t broken_hollows = 0;  ///< Groups in which a hollow breaks through its wall.
    double broken_hollow_mm3 = 0.0;  ///< Volume of the hollows that do.
    double overlap_mm3 = 0.0;        ///< Volume that the shells counted more than once.
    std::size_t left = 0;            ///< Pairs of triangles that cross still, for rounding.
    double left_mm3 = 0.0;           ///< Volume that they may count wrongly.
    bool failed = false;             ///< Nothing was done: the surface contradicts itself.
    std::vector<Vec3> places_mm;     ///< One where each group crosses.
};

/// Makes solids without crossings of shells that cross each other or themselves: what they wind
/// around at least once, by arrange().
///
/// Whole shells of a group that look inward are turned: all of them together if there are no
/// others, and back afterwards, being hollows that meet. A shell that looks inward and lies with
/// nine of ten of its vertices in the outward ones of its group is a hollow that breaks through its
/// wall, and counts as solid; any other is a solid turned inside out. Parts that touch are not
/// parted (cut_to_manifold).
///
/// \pre closed; `pairs` from crossing_pairs
[[nodiscard]] Uniting unite_crossing(const TriMesh& mesh, const Shells& shells,
                                     const std::vector<CrossingPair>& pairs,
                                     const RunContext& context = {});

}  // namespace cavigram
