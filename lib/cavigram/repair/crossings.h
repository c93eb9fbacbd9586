// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Two triangles of a mesh that meet beyond the corners they share; the smaller index first.
using CrossingPair = std::array<std::int32_t, 2>;

/// All pairs of triangles that meet beyond a shared corner or edge, sorted.
///
/// Touching counts, as does a fold of two triangles onto each other over their common edge, and a
/// triangle given twice. Corners are shared when they are the same vertex, so weld first. Exact for
/// finite coordinates: single and double precision with error bounds decide nearly always, CGAL's
/// exact predicates the rest. Triangles are sorted along a Z curve (Morton 1966) and put into a
/// tree of boxes, eight to a node; pairs at a vertex whose star projects onto a plane without a
/// fold are settled by the star. About O(n log n + pairs of overlapping boxes).
///
/// \pre indices in range, coordinates finite, `adjacent` belongs to `mesh`
/// \throw Cancelled
[[nodiscard]] std::vector<CrossingPair> crossing_pairs(const TriMesh& mesh,
                                                       const Adjacency& adjacent,
                                                       const RunContext& context = {});

/// As crossing_pairs, but corners at the very same place count as shared, whatever their vertex:
/// for meshes that cut_to_manifold parted.
[[nodiscard]] std::vector<CrossingPair> crossing_pairs_by_place(const TriMesh& mesh,
                                                                const RunContext& context = {});

/// Whether there is any such pair; stops at the first.
[[nodiscard]] bool crosses_itself(const TriMesh& mesh, const Adjacency& adjacent,
                                  const RunContext& context = {});

}  // namespace cavigram
