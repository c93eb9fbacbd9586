// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>
#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// Reads glTF 2.0 and GLB: triangles, strips and fans of the scene's meshes, placed by nested nodes
/// as doubles, in meters, turned so that z is up.
///
/// Sparse accessors, KHR_mesh_quantization, KHR_draco_mesh_compression, EXT_meshopt_compression and
/// EXT_mesh_gpu_instancing are read; other required extensions that may change the shape are
/// refused by name. Mirrored placements are turned over, so that outside stays outside. Skins and
/// morph targets stay in the pose in which they were modeled, with a warning. `folder` is where
/// buffer files may be, or below; nothing else is opened, nothing fetched. Empty if it is glTF 1.
/// `name` is how messages call the input. O(bytes + triangles placed). Source: glTF 2.0
/// specification (ISO/IEC 12113:2022).
///
/// \throw UnusableInput
[[nodiscard]] std::optional<Soup> parse_gltf(std::string_view bytes,
                                             const std::filesystem::path& folder,
                                             std::string_view name = "the glTF data");

}  // namespace cavigram
