// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// True for `OFF` and its forms with colors, normals and texture coordinates: COFF, NOFF, CNOFF,
/// STOFF ...
[[nodiscard]] bool is_off_word(std::string_view word);

/// Reads OFF as text: a vertex or a face to a line, numbers as doubles, comments anywhere, polygons
/// of any size cut into triangles; colors, normals and whatever else follows on a line are passed
/// over. Points and lines are left out.
///
/// Fewer faces than the file says are refused, or with `partial` taken with a finding. `name` is
/// how messages call the input. O(bytes) for files of triangles.
///
/// \throw UnusableInput if there is no usable triangle, or a face names a vertex that is not there.
[[nodiscard]] Soup parse_off(std::string_view bytes, std::string_view name = "the OFF data",
                             bool partial = false);

}  // namespace cavigram
