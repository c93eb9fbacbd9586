// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace cavigram::serve {

/// What a request asks for, decoded.
struct Target {
    std::string path;                          ///< `/parts/12`.
    std::map<std::string, std::string> query;  ///< Behind the ?; of a name that comes twice, the
                                               ///< first.
};

/// Takes a target such as `/parts/12?up=0%2C0%2C1` apart. Nothing where it does not begin with a
/// slash, a percent sign is not followed by two digits, or a control character is in it.
[[nodiscard]] std::optional<Target> parse_target(std::string_view target);

/// A file's name as a person may see it, made from what a client said: without folders and control
/// characters, of valid UTF-8, 200 bytes at most, `part` where nothing is left.
[[nodiscard]] std::string shown_name(std::string_view name);

/// The ending of a name, in small letters and digits, five at most, with its dot; else nothing.
[[nodiscard]] std::string safe_extension(std::string_view name);

}  // namespace cavigram::serve
