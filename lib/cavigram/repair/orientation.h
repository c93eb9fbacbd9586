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
    TriMesh mesh;                                ///< With every shell's faces turned the same way.
    std::size_t turned = 0;                      ///< For each triangle, whether it was turned.
    std::vector<std::int32_t> turned_triangles;  ///< How many were.
};
[[nodiscard]] Consistency make_consistent(const TriMesh& mesh);

/// What a shell bounds.
enum class ShellRole {
    solid,   ///< From outside: outward.
    hollow,  ///< Hollow space in a solid: inward.
    within,  ///< Nothing: it lies in a solid and looks the same way as that does.
};

/// How the shells of a closed mesh lie in each other.
struct Nesting {
    std::vector<int> depth;          ///< For each shell, how many others hold it.
    std::vector<double> volume_mm3;  ///< For each shell, signed, as it is.
    std::vector<ShellRole> role;     ///< For each shell.
    std::vector<std::int32_t>
        turned;  ///< Shells that look the wrong way for what they bound, rising.
};

/// What each shell bounds, by winding numbers: a shell in a solid that looks the other way is a
/// hollow, one that looks the same way is solid in solid and bounds nothing; what lies in a hollow
/// is solid again. An outermost shell that looks inward is to be turned, and all that it holds with
/// it.
///
/// A shell holds another if its inside holds the other's first vertex; pairs of shells in
/// `crossing` (sorted, smaller first) do not count as holding each other. O(n + pairs of nested
/// boxes * log n).
///
/// \pre closed, neighbors consistent
[[nodiscard]] Nesting nesting_of(const TriMesh& mesh, const Shells& shells,
                                 const std::vector<std::array<std::int32_t, 2>>& crossing = {});

/// Turns all triangles of the shells over.
void turn_shells(TriMesh& mesh, const Shells& shells, const std::vector<std::int32_t>& turned);

}  // namespace cavigram
