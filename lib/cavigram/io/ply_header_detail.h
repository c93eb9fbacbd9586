// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace cavigram {

enum class PlyScalar : std::uint8_t { i8, u8, i16, u16, i32, u32, i64, u64, f32, f64 };
enum class PlyEncoding : std::uint8_t { text, little, big };

struct PlyProperty {
    std::string name;
    PlyScalar type = PlyScalar::f32;
    std::optional<PlyScalar> count_type;  ///< Of a list; the items then have `type`.
};

struct PlyElement {
    std::string name;
    std::uint64_t count = 0;
    std::vector<PlyProperty> properties;

    /// Bytes that one row takes at least in the given encoding: lists empty, text a digit and a
    /// blank for each value.
    [[nodiscard]] std::uint64_t least_bytes(PlyEncoding encoding) const;
};

struct PlyHeader {
    PlyEncoding encoding = PlyEncoding::text;
    std::vector<PlyElement> elements;
    std::size_t bytes = 0;  ///< Where the data begin.
    std::size_t lines = 0;
};

[[nodiscard]] std::size_t ply_scalar_bytes(PlyScalar type);

/// Reads the header, whatever its line ends are. `name` is how messages call the input. O(header)
///
/// \throw UnusableInput that names the line
[[nodiscard]] PlyHeader parse_ply_header(std::string_view bytes, std::string_view name);

}  // namespace cavigram
