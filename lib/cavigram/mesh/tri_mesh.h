// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "cavigram/geom/vector.h"

namespace cavigram {

/// Three vertex indices, counter-clockwise seen from outside.
using Triangle = std::array<std::int32_t, 3>;

/// Triangles over shared vertices: plain arrays, nothing promised about holes or orientation.
/// Positions in mm unless said.
struct TriMesh {
    std::vector<Vec3> vertices;  ///< Places of the vertices.
    std::vector<Triangle>
        triangles;  ///< Indices of three vertices each, counter-clockwise seen from outside.

    /// Where the i-th corner of a triangle lies.
    [[nodiscard]] const Vec3& corner(std::size_t triangle, int i) const {
        return vertices[static_cast<std::size_t>(triangles[triangle][static_cast<std::size_t>(i)])];
    }
};

/// The box around all vertices that a triangle uses. O(n).
[[nodiscard]] Box3 bounds(const TriMesh& mesh);

/// `mesh` with each vertex scaled about the origin and then shifted. Negative factors mirror;
/// triangles are then turned over, so that outside stays outside.
///
/// \pre factor is not 0
[[nodiscard]] TriMesh transformed(TriMesh mesh, double factor, const Vec3& shift_mm);

/// `mesh` turned by the rotation matrix about the origin.
[[nodiscard]] TriMesh rotated(TriMesh mesh, const Mat3& rotation);

/// Both meshes in one, unconnected.
[[nodiscard]] TriMesh joined(TriMesh first, const TriMesh& second);

/// The same triangles turned inside out.
[[nodiscard]] TriMesh flipped(TriMesh mesh);

}  // namespace cavigram
