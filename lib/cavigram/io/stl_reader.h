// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// True if the bytes look like STL: a count that fits the size, or text that opens with `solid` or
/// `facet`.
[[nodiscard]] bool looks_like_stl(std::string_view bytes);

/// Reads STL, binary or ASCII, as real programs and scanners write it.
///
/// Binary: a file that ends before its count does is refused, or with `partial` taken as far as
/// there are whole records, with a finding; a count of zero with records behind it and trailing
/// bytes become findings; a header that starts with `solid` is no obstacle. ASCII: any case, CR, LF
/// or CRLF, several solids in one file, a cut end. Coordinates are read as doubles from text, as
/// float32 from binary. Facet normals and attribute bytes are ignored. Three own vertices for each
/// triangle, in file order. `name` is how messages call the input. O(bytes).
///
/// \throw UnusableInput if there is no usable triangle.
[[nodiscard]] Soup parse_stl(std::string_view bytes, std::string_view name = "the STL data",
                             bool partial = false);

}  // namespace cavigram
