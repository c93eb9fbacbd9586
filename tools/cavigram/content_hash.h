// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace cavigram::program {

/// SHA-256 (FIPS 180-4) of the bytes, as 64 hexadecimal digits.
[[nodiscard]] std::string sha256(std::string_view bytes);

/// As above of all that a file holds, read in pieces. Empty: it can't be read.
[[nodiscard]] std::string sha256_of_file(const std::filesystem::path& path);

/// As above of a mesh file and of the files beside it that its geometry lies in (glTF names them).
/// Empty: the file itself can't be read.
[[nodiscard]] std::string sha256_of_mesh(const std::filesystem::path& path);

}  // namespace cavigram::program
