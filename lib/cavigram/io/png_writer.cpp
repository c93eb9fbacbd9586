// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/png_writer.h"

#include <cstddef>

#include <zlib.h>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

// Of 9; zlib's own default.
constexpr int kEffort = 6;

void put32(std::string& bytes, std::uint32_t value) {
    for (const int shift : {24, 16, 8, 0}) {
        bytes += static_cast<char>(value >> shift & 0xFFU);
    }
}

void put_chunk(std::string& file, const char* type, const std::string& data) {
    put32(file, static_cast<std::uint32_t>(data.size()));
    const std::string body = type + data;
    file += body;
    put32(file, static_cast<std::uint32_t>(crc32(0, reinterpret_cast<const Bytef*>(body.data()),
                                                 static_cast<uInt>(body.size()))));
}

}  // namespace

std::string png_bytes(int width, int height, std::span<const std::uint8_t> gray) {
    CAVIGRAM_ASSERT(width > 0 && height > 0 &&
                    gray.size() ==
                        static_cast<std::size_t>(width) * static_cast<std::size_t>(height));
    std::string rows;
    for (int y = 0; y < height; ++y) {
        // Filter 2, the difference to the row above, suits smooth shading.
        rows += '\2';
        for (int x = 0; x < width; ++x) {
            const auto i = static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                           static_cast<std::size_t>(x);
            const int above = y > 0 ? gray[i - static_cast<std::size_t>(width)] : 0;
            rows += static_cast<char>(gray[i] - above);
        }
    }
    uLongf packed_size = compressBound(static_cast<uLong>(rows.size()));
    std::string packed(packed_size, '\0');
    const int result = compress2(reinterpret_cast<Bytef*>(packed.data()), &packed_size,
                                 reinterpret_cast<const Bytef*>(rows.data()),
                                 static_cast<uLong>(rows.size()), kEffort);
    CAVIGRAM_ASSERT(result == Z_OK);
    static_cast<void>(result);
    packed.resize(packed_size);

    std::string header;
    put32(header, static_cast<std::uint32_t>(width));
    put32(header, static_cast<std::uint32_t>(height));
    header += std::string("\x08\x00\x00\x00\x00", 5);  // 8 bits, gray, no interlace
    std::string file = "\x89PNG\r\n\x1a\n";
    put_chunk(file, "IHDR", header);
    put_chunk(file, "IDAT", packed);
    put_chunk(file, "IEND", "");
    return file;
}

}  // namespace cavigram
