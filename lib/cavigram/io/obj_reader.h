// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// Reads Wavefront OBJ as text: `v` with three numbers as doubles, `f` with any number of corners,
/// counted from the beginning or back from the last vertex, texture and normal indices passed over,
/// lines carried on with a backslash.
///
/// Points, lines, groups, materials, weights and colors are passed over; polygons are cut; faces
/// may stand before their vertices. Free-form curves and surfaces are not read: a file that holds
/// nothing else is refused. `name` is how messages call the input. O(bytes). Source: the format's
/// description, "Object Files (.obj)", appendix B1 of its maker's manual.
///
/// \throw UnusableInput that names the line
[[nodiscard]] Soup parse_obj(std::string_view bytes, std::string_view name = "the OBJ data");

}  // namespace cavigram
