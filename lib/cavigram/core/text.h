// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace cavigram {

/// `value` with so many significant digits and no exponent between 1e-4 and 1e15: 12345.678 with 3
/// digits is "12300". For people; JSON carries full precision.
[[nodiscard]] std::string significant(double value, int digits);

/// Of `known`, the word nearest to `word` in edits (insert, delete, replace, swap neighbors), or
/// empty if none is within a third of its length. For "did you mean" in errors. O(words x
/// length^2).
[[nodiscard]] std::string nearest_word(std::string_view word,
                                       const std::vector<std::string>& known);

}  // namespace cavigram
