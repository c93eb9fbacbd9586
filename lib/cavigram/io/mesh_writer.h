// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Red, green, blue as a screen shows them (sRGB).
using Rgb = std::array<std::uint8_t, 3>;

/// The mesh as binary STL. Positions are rounded to float32, so points nearer to each other than
/// 6e-8 of their distance from the origin may fall together. A triangle without area gets the
/// normal 0 0 0. O(n).
///
/// \pre indices in range
/// \throw InvalidInput if a coordinate is not finite as a float32, or there are over 2^32 - 1
/// triangles
[[nodiscard]] std::string stl_bytes(const TriMesh& mesh);

/// The mesh as binary little-endian PLY: float positions where that loses nothing, otherwise
/// double; colors if given. O(n).
///
/// \pre indices in range, one color for each vertex or none
/// \throw InvalidInput if a coordinate is not finite or the number of colors is wrong
[[nodiscard]] std::string ply_bytes(const TriMesh& mesh, std::span<const Rgb> vertex_colors = {});

/// The mesh, in millimeters, as one binary glTF 2.0 file (GLB): positions in meters, and a node
/// that turns z up into glTF's y up, so that it stands in any viewer as it stands here. Colors are
/// stored linear, as glTF asks of COLOR_0. O(n).
///
/// \pre indices in range, one color for each vertex or none
/// \throw InvalidInput if there is no triangle, a coordinate is not finite, the number of colors is
/// wrong, or the file would pass 4 GiB
[[nodiscard]] std::string glb_bytes(const TriMesh& mesh_mm, std::span<const Rgb> vertex_colors = {},
                                    std::string_view name = "part");

/// A mesh among others in one file; it refers to its owner's arrays.
struct NamedMesh {
    const TriMesh& mesh_mm;              ///< What is written.
    std::span<const Rgb> vertex_colors;  ///< One for each vertex, or none.
    std::string_view name;               ///< Of its node.
};

/// As above for several meshes in one file, a node for each, so that a viewer can show and hide
/// them one by one.
///
/// \pre at least one
/// \throw InvalidInput as above
[[nodiscard]] std::string glb_bytes(std::span<const NamedMesh> meshes);

}  // namespace cavigram
