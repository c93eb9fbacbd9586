// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What cut_to_manifold did.
struct ManifoldCut {
    /// Same triangles in the same order, some corners pointing to copies of their vertex; where two
    /// edges would join the same two vertices, the triangles at them are split at a middle of their
    /// own.
    TriMesh mesh;
    std::size_t edges_parted = 0;     ///< Edges where four or more triangles met.
    std::size_t vertices_parted = 0;  ///< Copies that were added.
};

/// Parts the surface where it touches itself along an edge or in a single vertex, so that every
/// edge has at most two triangles and every vertex one fan. Nothing moves and no volume changes:
/// only the bookkeeping does.
///
/// At an edge with k triangles each way, each triangle is paired with the one that lies across the
/// *solid* from it (by angle around the edge), so two boxes that share an edge become two shells.
/// Edges whose triangles do not balance keep their surplus as border. O(n).
[[nodiscard]] ManifoldCut cut_to_manifold(const TriMesh& mesh);

}  // namespace cavigram
