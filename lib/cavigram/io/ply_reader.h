// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// Reads PLY: text and both byte orders, every scalar type, elements in any order.
///
/// Taken are `x`, `y`, `z` of the element `vertex` (as doubles), the polygons of `face` and the
/// strips of `tristrips` (-1 starts a new strip; a strip's triangles turn over by turns). All other
/// elements and properties are passed over by their declared size. A count that the bytes can't
/// hold is found before anything is allocated for it.
///
/// A file that ends before what its header promises is refused with what is missing; with `partial`
/// the faces that are whole are taken, with a finding. `name` is how messages call the input.
/// O(bytes). Source: G. Turk, "The PLY Polygon File Format", 1994; strips as in the Stanford 3D
/// Scanning Repository's files.
///
/// \throw UnusableInput
[[nodiscard]] Soup parse_ply(std::string_view bytes, std::string_view name = "the PLY data",
                             bool partial = false);

}  // namespace cavigram
