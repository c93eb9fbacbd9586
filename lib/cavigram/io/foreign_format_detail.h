// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

namespace cavigram {

/// What the bytes are, if they are a kind of file that this program knows by its marks but does not
/// read, and what to do instead: the rest of a sentence without its period, behind "it is ". Empty
/// otherwise. Looks at some kilobytes only.
[[nodiscard]] std::string_view foreign_format(std::string_view bytes);

/// True for lines of three or more numbers and nothing else, as scanners write points. Some meshes
/// begin so too, so this counts only where the file's name says nothing.
[[nodiscard]] bool is_point_text(std::string_view bytes);

/// What a point cloud is, and what to do with it, as foreign_format says it.
inline constexpr std::string_view kPointCloud =
    "a point cloud; make a surface of the points in the scanner's program and export that as PLY, "
    "OBJ or STL";

}  // namespace cavigram
