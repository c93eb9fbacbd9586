// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// Reads 3MF: every object that the build prints, with components and transforms, also from other
/// parts of the package (production extension), in the unit that the file states.
///
/// Supports, objects of the type `other` and items marked as not printed are left out, with a note.
/// A mirrored placement is turned over, so that outside stays outside. Triangles that name a corner
/// twice are left out. A required extension that could change the shape is refused by its name.
/// What all copies together would hold is counted before any is made, and what the archive unpacks
/// to is bounded. `name` is how messages call the input. O(bytes + triangles placed). Source: 3MF
/// Core Specification 1.3, 3MF Production Extension 1.1.2.
///
/// \throw UnusableInput
[[nodiscard]] Soup parse_threemf(std::string_view bytes, std::string_view name = "the 3MF data");

}  // namespace cavigram
