// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Turns triangles so that neighbors run against each other across their common edge, as far as
/// that is possible.
///
/// Breadth first over edges with exactly two triangles; each connected piece keeps the way of most
/// of its area. Where a piece contradicts itself (a Moebius strip) the last edge stays a border.
/// `turned` counts the triangles that changed. By CGAL's polygon soup orientation. O(n log n).
struct Consistency {
    TriMesh mesh;
    std::size_t turned = 0;
    std::vector<std::int32_t> turned_triangles;
};
[[nodiscard]] Consistency make_consistent(const TriMesh& mesh);

/// How the shells of a closed mesh lie in each other.
struct Nesting {
    std::vector<int> depth;            ///< For each shell, how many others hold it.
    std::vector<double> volume_mm3;    ///< For each shell, signed, as it was before turning.
    std::vector<std::int32_t> turned;  ///< Shells that were turned inside out.
    std::vector<std::int32_t> assumed_hollow;  ///< Inner shells that looked outward in the file and
                                               ///< are taken for hollows.
};

/// Turns whole shells so that outer ones look outward and those at odd depth inward (a shell in a
/// shell is a hollow, a shell in that is solid again).
///
/// Depth counts the other shells whose inside holds the shell's first vertex; pairs of shells in
/// `crossing` (sorted, smaller first) do not count as holding each other. O(n + pairs of nested
/// boxes * log n). \pre closed, neighbors consistent
[[nodiscard]] Nesting orient_shells(TriMesh& mesh, const Shells& shells,
                                    const std::vector<std::array<std::int32_t, 2>>& crossing = {});

}  // namespace cavigram
