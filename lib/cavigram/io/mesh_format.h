// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <span>
#include <string_view>

namespace cavigram {

/// One kind of mesh file that can be read.
struct MeshFormat {
    std::string_view name;         ///< "obj", "ply", "3mf"; "stl" stands for both of its kinds.
    std::string_view extension;    ///< Without the dot.
    std::string_view extension_2;  ///< A second usual one, or empty.
    /// Millimeters per unit, where the format's own text fixes it for all files. 3MF, AMF and FBX
    /// state it in each file.
    std::optional<double> unit_mm;
    bool y_up = false;  ///< The format states that y points up; the reader turns such meshes so
                        ///< that z does.
};

/// All formats that can be read, the commonest first.
[[nodiscard]] std::span<const MeshFormat> mesh_formats();

/// Which format the bytes are in: by their own marks, else by the extension of the file's name (any
/// case, with or without a dot), else by what the text looks like. Null if none fits. Looks at some
/// kilobytes only.
[[nodiscard]] const MeshFormat* format_of(std::string_view bytes, std::string_view extension);

}  // namespace cavigram
