// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string_view>

#include "cavigram/io/mesh_format.h"
#include "cavigram/io/soup.h"

namespace cavigram {

/// Reads the bytes as `format` with Assimp, whatever the file's name says. Every mesh instance of
/// the scene, placed by its nodes' transforms; mirrored ones turned over, so that outside stays
/// outside. Points and lines are passed over, polygons cut.
///
/// `folder` is where glTF's buffer files may be; no other file is ever opened. May crash, hang or
/// eat memory on a malformed file: call it in a guarded child. `name` is how messages call the
/// file.
///
/// \throw UnusableInput
[[nodiscard]] Soup read_with_assimp(std::string_view bytes, const MeshFormat& format,
                                    const std::filesystem::path& folder, std::string_view name);

}  // namespace cavigram
