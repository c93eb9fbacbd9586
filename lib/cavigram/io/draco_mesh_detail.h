// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Unpacks a mesh that Draco packed: the attribute `position_id` as vertices, integers as they are.
/// Empty if the bytes are no such mesh, or damaged. O(triangles)
[[nodiscard]] std::optional<TriMesh> unpack_draco(std::string_view bytes,
                                                  std::uint32_t position_id);

}  // namespace cavigram
