// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Some triangles of a mesh with their own vertices, in order of first use.
[[nodiscard]] inline TriMesh submesh(const TriMesh& mesh,
                                     const std::vector<std::int32_t>& triangles) {
    TriMesh one;
    std::vector<std::int32_t> index(mesh.vertices.size(), -1);
    one.triangles.reserve(triangles.size());
    for (const std::int32_t t : triangles) {
        Triangle moved;
        for (std::size_t i = 0; i < 3; ++i) {
            const auto v = static_cast<std::size_t>(mesh.triangles[static_cast<std::size_t>(t)][i]);
            if (index[v] < 0) {
                index[v] = static_cast<std::int32_t>(one.vertices.size());
                one.vertices.push_back(mesh.vertices[v]);
            }
            moved[i] = index[v];
        }
        one.triangles.push_back(moved);
    }
    return one;
}

/// For each shell its triangles, rising.
[[nodiscard]] inline std::vector<std::vector<std::int32_t>> triangles_of_shells(
    const Shells& shells) {
    std::vector<std::vector<std::int32_t>> list(static_cast<std::size_t>(shells.count));
    for (std::size_t t = 0; t < shells.of_triangle.size(); ++t) {
        list[static_cast<std::size_t>(shells.of_triangle[t])].push_back(
            static_cast<std::int32_t>(t));
    }
    return list;
}

}  // namespace cavigram
