// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <charconv>
#include <limits>

#include "cavigram/io/text_detail.h"

namespace cavigram {

std::string_view text_start(std::string_view bytes) {
    if (bytes.starts_with("\xEF\xBB\xBF")) {
        bytes.remove_prefix(3);
    }
    while (!bytes.empty() && is_blank(bytes.front())) {
        bytes.remove_prefix(1);
    }
    return bytes;
}

bool is_text(std::string_view bytes) {
    const std::string_view start = bytes.substr(0, 4096);
    return std::none_of(start.begin(), start.end(), [](char c) {
        const auto u = static_cast<unsigned char>(c);
        return u < 0x20 && !is_blank(c) && u != 0x1A;
    });
}

bool parse_number(std::string_view word, double& value) {
    if (word.starts_with('+')) {
        word.remove_prefix(1);
    }
    const char* const end = word.data() + word.size();
    const auto [stop, error] = std::from_chars(word.data(), end, value);
    if (error == std::errc::result_out_of_range) {
        // Too small to tell from zero, or too large for any part.
        const bool tiny = word.find("e-") != word.npos || word.find("E-") != word.npos;
        value = tiny ? 0.0 : std::numeric_limits<double>::infinity();
        return stop == end;
    }
    if (error != std::errc() || stop == word.data()) {
        return false;
    }
    // Some C libraries print a NaN as `1.#QNAN` and an infinity as `1.#INF`.
    if (stop != end && *stop == '#') {
        value = std::numeric_limits<double>::quiet_NaN();
        return true;
    }
    return stop == end;
}

std::string shown_text(std::string_view name) {
    std::string text(name.substr(0, 80));
    for (char& c : text) {
        c = c >= ' ' && c < 0x7F && c != ';' ? c : '?';
    }
    return text;
}

int significant_digits(std::string_view word) {
    int digits = 0;
    for (const char c : word) {
        if (c == 'e' || c == 'E') {
            break;
        }
        const bool digit = c >= '0' && c <= '9';
        digits += digit && (c != '0' || digits > 0) ? 1 : 0;
    }
    return digits;
}

}  // namespace cavigram
