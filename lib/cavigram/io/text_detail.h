// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace cavigram {

/// Space, tab, line feed, vertical tab, form feed, carriage return.
[[nodiscard]] constexpr bool is_blank(char c) {
    return c == ' ' || (c >= '\t' && c <= '\r');
}

/// Without a byte order mark and leading blanks.
[[nodiscard]] std::string_view text_start(std::string_view bytes);

/// True if the first four kilobytes have no control characters but blanks; that many bytes of
/// float32 always have some.
[[nodiscard]] bool is_text(std::string_view bytes);

/// Reads a whole word as a number, in every spelling that programs use: a plus sign, `nan(ind)`,
/// `1.#INF`. Too large becomes infinity, too small zero. False if it is no number.
[[nodiscard]] bool parse_number(std::string_view word, double& value);

/// A name out of a file, fit to stand in a sentence: at most 80 letters, nothing unprintable.
[[nodiscard]] std::string shown_text(std::string_view name);

/// How many digits a written number has, leading zeros and the exponent apart.
[[nodiscard]] int significant_digits(std::string_view word);

}  // namespace cavigram
