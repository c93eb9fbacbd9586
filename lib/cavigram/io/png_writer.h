// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <string>

namespace cavigram {

/// A grayscale image of 8 bits as a PNG file (ISO/IEC 15948), rows from the top. Same image, same
/// bytes with the same zlib. O(pixels).
///
/// \pre width and height > 0; width * height values
[[nodiscard]] std::string png_bytes(int width, int height, std::span<const std::uint8_t> gray);

}  // namespace cavigram
