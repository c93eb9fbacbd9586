// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What remove_duplicates took out.
struct DuplicateRemoval {
    TriMesh mesh;  ///< Without them.
    std::vector<std::int32_t>
        repeated;  ///< Input triangles that repeat an earlier one, turned the same way.
    std::vector<std::int32_t>
        folded;  ///< Input triangles that lie back to back on another: leaves of no thickness.
};

/// Of triangles over the same three vertices keeps one if they all look the same way; of two that
/// lie back to back keeps neither, since they enclose nothing. In general |same way - other way|,
/// at most one, is kept. O(n log n).
[[nodiscard]] DuplicateRemoval remove_duplicates(const TriMesh& mesh);

}  // namespace cavigram
