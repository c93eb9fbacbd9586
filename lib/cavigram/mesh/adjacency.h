// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Which triangle lies across which edge. Halfedge h = 3*t + i runs from corner i of triangle t to
/// corner (i+1)%3.
struct Adjacency {
    static constexpr std::int32_t kBorder = -1;  ///< No triangle across.
    static constexpr std::int32_t kIrregular =
        -2;  ///< More than two triangles at the edge, or two that run the same way.

    std::vector<std::int32_t>
        twin;  ///< For each halfedge the opposite one, or kBorder or kIrregular.
    std::size_t border_halfedges = 0;     ///< Without a partner.
    std::size_t irregular_halfedges = 0;  ///< With more than one, or one that runs the same way.

    /// Every edge has exactly two triangles that run against each other.
    [[nodiscard]] bool closed() const { return border_halfedges == 0 && irregular_halfedges == 0; }
};

/// The halfedge after `h` around its triangle.
[[nodiscard]] constexpr std::int32_t next_halfedge(std::int32_t h) {
    return h % 3 == 2 ? h - 2 : h + 1;
}
/// The halfedge before `h` around its triangle.
[[nodiscard]] constexpr std::int32_t previous_halfedge(std::int32_t h) {
    return h % 3 == 0 ? h + 2 : h - 1;
}

/// Finds the neighbors across all edges. O(n) on meshes of bounded vertex degree; 12 bytes a
/// triangle plus as much while it runs.
///
/// \pre indices in range
[[nodiscard]] Adjacency adjacency(const TriMesh& mesh);

/// The triangles in edge-connected groups.
struct Shells {
    std::vector<std::int32_t>
        of_triangle;  ///< Group number of each triangle; groups numbered by their first triangle.
    std::int32_t count = 0;  ///< How many there are.
};

/// Groups triangles that are linked through twins. O(n).
[[nodiscard]] Shells shells(const TriMesh& mesh, const Adjacency& adjacency);

/// Border edges chained into rims. Each loop lists vertex indices in the direction of the border
/// halfedges; where rims touch at a vertex they are parted by walking around it. Needs twins. O(n).
[[nodiscard]] std::vector<std::vector<std::int32_t>> border_loops(const TriMesh& mesh,
                                                                  const Adjacency& adjacency);

}  // namespace cavigram
