// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cavigram/io/soup.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Triangles that a program holds, as if they had been read from a file: what a Soup promises is
/// checked, triangles with corners that are not numbers or are out of range are left out, counted
/// and reported. The format is "arrays"; no unit is stated. `name` is how messages call them.
///
/// O(n)
///
/// \throw UnusableInput naming the first triangle with an index out of range; if there is no usable
/// triangle
[[nodiscard]] Soup soup_of_arrays(TriMesh mesh, std::string_view name);

}  // namespace cavigram
