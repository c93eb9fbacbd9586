// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/repair/rims_detail.h"

namespace cavigram {

/// Rings of triangles around a rim that decide how its patch runs on: fairing to tangent continuity
/// looks two rings beyond the rim.
inline constexpr int kFairingRings = 3;

/// Rim edges up to which CGAL searches for the least area exhaustively; beyond, it would seem to
/// hang.
inline constexpr std::size_t kCubicSearch = 500;

/// Triangles between the rim's own vertices, of least area; none if CGAL finds none. `flat`
/// triangulates in the rim's plane first.
[[nodiscard]] std::vector<Triangle> plain_patch(const TriMesh& mesh, const Rim& rim, bool flat);

/// Triangles over new vertices, which go to the mesh's end: filled, refined to the rim's edges and
/// faired, seen only in the rim's neighborhood. None, and no vertices, if CGAL can't.
[[nodiscard]] std::vector<Triangle> faired_patch(TriMesh& mesh, const CompressedRows& at,
                                                 const Rim& rim);

}  // namespace cavigram
