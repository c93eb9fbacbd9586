// SPDX-License-Identifier: GPL-3.0-or-later
#include "target.h"

#include <algorithm>
#include <charconv>
#include <cstddef>

namespace cavigram::serve {

namespace {

std::optional<std::string> decoded(std::string_view text) {
    std::string plain;
    for (std::size_t i = 0; i < text.size(); ++i) {
        char c = text[i];
        if (c == '%') {
            unsigned code = 0;
            const char* const from = text.data() + i + 1;
            if (i + 2 >= text.size()) {
                return std::nullopt;
            }
            const auto [rest, error] = std::from_chars(from, from + 2, code, 16);
            if (error != std::errc() || rest != from + 2) {
                return std::nullopt;
            }
            c = static_cast<char>(code);
            i += 2;
        }
        if (static_cast<unsigned char>(c) < 0x20 || c == 0x7f) {
            return std::nullopt;
        }
        plain += c;
    }
    return plain;
}

// Well-formed UTF-8 (Unicode, table 3-7): the first byte, the second, and how many there are.
struct Character {
    unsigned first_least, first_most, second_least, second_most;
    std::size_t bytes;
};
constexpr Character kCharacters[] = {
    {0x00, 0x7f, 0, 0, 1},       {0xc2, 0xdf, 0x80, 0xbf, 2}, {0xe0, 0xe0, 0xa0, 0xbf, 3},
    {0xe1, 0xec, 0x80, 0xbf, 3}, {0xed, 0xed, 0x80, 0x9f, 3}, {0xee, 0xef, 0x80, 0xbf, 3},
    {0xf0, 0xf0, 0x90, 0xbf, 4}, {0xf1, 0xf3, 0x80, 0xbf, 4}, {0xf4, 0xf4, 0x80, 0x8f, 4}};

// Bytes of the character that begins here; 0: none does.
std::size_t character_bytes(std::string_view text) {
    const auto within = [&](std::size_t i, unsigned least, unsigned most) {
        const unsigned byte = i < text.size() ? static_cast<unsigned char>(text[i]) : 0U;
        return i < text.size() && byte >= least && byte <= most;
    };
    for (const Character& one : kCharacters) {
        if (!within(0, one.first_least, one.first_most)) {
            continue;
        }
        bool whole = one.bytes == 1 || within(1, one.second_least, one.second_most);
        for (std::size_t i = 2; i < one.bytes; ++i) {
            whole = whole && within(i, 0x80, 0xbf);
        }
        return whole ? one.bytes : 0;
    }
    return 0;
}

}  // namespace

std::optional<Target> parse_target(std::string_view target) {
    if (target.empty() || target.front() != '/') {
        return std::nullopt;
    }
    const std::size_t mark = target.find('?');
    const std::optional<std::string> path = decoded(target.substr(0, mark));
    if (!path) {
        return std::nullopt;
    }
    Target result{*path, {}};
    std::string_view rest =
        mark == std::string_view::npos ? std::string_view() : target.substr(mark + 1);
    while (!rest.empty()) {
        const std::size_t end = std::min(rest.find('&'), rest.size());
        const std::string_view pair = rest.substr(0, end);
        rest.remove_prefix(std::min(end + 1, rest.size()));
        const std::size_t equals = std::min(pair.find('='), pair.size());
        const std::optional<std::string> name = decoded(pair.substr(0, equals));
        const std::optional<std::string> value =
            decoded(pair.substr(std::min(equals + 1, pair.size())));
        if (!name || !value) {
            return std::nullopt;
        }
        result.query.emplace(*name, *value);
    }
    return result;
}

std::string shown_name(std::string_view name) {
    constexpr std::size_t kMost = 200;
    const std::size_t slash = name.find_last_of("/\\");
    name.remove_prefix(slash == std::string_view::npos ? 0 : slash + 1);
    std::string shown;
    while (!name.empty()) {
        const std::size_t count = character_bytes(name);
        const auto first = static_cast<unsigned char>(name.front());
        // U+0080 to U+009F are control characters too.
        const bool control = first < 0x20 || first == 0x7f ||
                             (first == 0xc2 && static_cast<unsigned char>(name[1]) < 0xa0);
        if (count > 0 && !control) {
            if (shown.size() + count > kMost) {
                break;
            }
            shown += name.substr(0, count);
        }
        name.remove_prefix(count > 0 ? count : 1);
    }
    return shown.empty() || shown == "." || shown == ".." ? "part" : shown;
}

std::string safe_extension(std::string_view name) {
    constexpr std::size_t kMost = 5;
    const std::size_t dot = name.rfind('.');
    if (dot == std::string_view::npos || name.size() - dot - 1 > kMost || dot + 1 == name.size()) {
        return "";
    }
    std::string extension = ".";
    for (const char c : name.substr(dot + 1)) {
        const char lower = c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
        if ((lower < 'a' || lower > 'z') && (lower < '0' || lower > '9')) {
            return "";
        }
        extension += lower;
    }
    return extension;
}

}  // namespace cavigram::serve
