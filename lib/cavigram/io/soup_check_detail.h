// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string_view>

#include "cavigram/io/soup.h"

namespace cavigram {

/// Takes out every triangle with a corner that is not finite or lies beyond kLargestCoordinate, and
/// counts them. Vertices that are such are moved to the origin, where no triangle uses them.
///
/// O(n)
///
/// \pre indices in range.
void drop_bad_triangles(Soup& soup);

/// Turns the counts of a soup into findings, notes coarse coordinates if they came as float32, and
/// makes sure that something is left. `name` is how messages call the input.
///
/// \throw UnusableInput if there is no triangle.
void finish_soup(Soup& soup, std::string_view name, bool came_as_float);

/// The sentence "Can't use NAME: WHY."
///
/// \pre `why` is the rest of a sentence with its remedy, without the period
[[noreturn]] void refuse(std::string_view name, std::string_view why);

}  // namespace cavigram
