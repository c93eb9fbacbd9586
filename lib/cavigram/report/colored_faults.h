// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/repair/faults.h"

namespace cavigram {

/// The surface as it was read, as PLY bytes, with the vertices near faults colored; the rest is
/// light gray.
///
/// Near is within 0.5 % of the diagonal of a fault's place. From dark violet to yellow along
/// viridis: open (holes, cracks, missing base); turned (flipped); crossing (crossings, overlaps);
/// too much (duplicates, folds, degenerate triangles, scraps, inner shells); shape (slivers,
/// spikes, edges and vertices that are not manifold). Where faults of several kinds are near, the
/// nearest counts. O(n log n).
[[nodiscard]] std::string faults_colored(const TriMesh& surface_mm,
                                         const std::vector<Fault>& faults);

}  // namespace cavigram
