// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What weld_exact did.
struct Weld {
    TriMesh mesh;  ///< Each position once, in order of first use; unused ones gone.
    std::size_t vertices_joined = 0;  ///< How many vertices fell onto an earlier one.
    std::vector<std::int32_t>
        degenerate_triangles;  ///< Input indices of the triangles left out: two corners are one.
};

/// Joins vertices whose coordinates are the very same numbers (-0 counts as 0), and drops triangles
/// that thereby lose a corner. No tolerance: thin walls and cracks stay as they are. O(n), one hash
/// table.
///
/// \pre indices in range, coordinates finite
[[nodiscard]] Weld weld_exact(const TriMesh& mesh);

}  // namespace cavigram
