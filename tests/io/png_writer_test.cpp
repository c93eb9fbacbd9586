// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/io/png_writer.h"

#include <vector>

#include <doctest/doctest.h>
#include <zlib.h>

using namespace cavigram;

namespace {

std::uint32_t big_endian(const std::string& bytes, std::size_t at) {
    std::uint32_t value = 0;
    for (std::size_t i = 0; i < 4; ++i) {
        value = value << 8U | static_cast<unsigned char>(bytes[at + i]);
    }
    return value;
}

}  // namespace

// The tests in a browser (tests/browser) decode these files with a library of their own as well.
TEST_CASE("a PNG as ISO/IEC 15948 has it: signature, chunks with their sums, rows that come back") {
    const int width = 5;
    const int height = 3;
    std::vector<std::uint8_t> gray;
    for (int i = 0; i < width * height; ++i) {
        gray.push_back(static_cast<std::uint8_t>(37 * i));
    }
    const std::string file = png_bytes(width, height, gray);
    CHECK(file.substr(0, 8) == "\x89PNG\r\n\x1a\n");
    std::vector<std::string> types;
    std::string packed;
    for (std::size_t at = 8; at < file.size();) {
        const std::size_t length = big_endian(file, at);
        const std::string body = file.substr(at + 4, 4 + length);
        types.push_back(body.substr(0, 4));
        const auto sum =
            crc32(0, reinterpret_cast<const Bytef*>(body.data()), static_cast<uInt>(body.size()));
        CHECK(big_endian(file, at + 8 + length) == sum);
        if (types.back() == "IHDR") {
            CHECK(big_endian(body, 4) == 5);
            CHECK(big_endian(body, 8) == 3);
            CHECK(body[12] == 8);  // bits
            CHECK(body[13] == 0);  // gray
        } else if (types.back() == "IDAT") {
            packed = body.substr(4);
        }
        at += 12 + length;
    }
    CHECK(types == std::vector<std::string>{"IHDR", "IDAT", "IEND"});
    std::vector<std::uint8_t> rows(static_cast<std::size_t>((width + 1) * height));
    uLongf size = rows.size();
    REQUIRE(uncompress(rows.data(), &size, reinterpret_cast<const Bytef*>(packed.data()),
                       static_cast<uLong>(packed.size())) == Z_OK);
    REQUIRE(size == rows.size());
    for (int y = 0; y < height; ++y) {
        const auto row = static_cast<std::size_t>(y * (width + 1));
        REQUIRE(rows[row] == 2);  // "up"
        for (int x = 0; x < width; ++x) {
            const auto i = static_cast<std::size_t>(y * width + x);
            const int above = y > 0 ? gray[i - static_cast<std::size_t>(width)] : 0;
            CHECK(((rows[row + 1 + static_cast<std::size_t>(x)] + above) & 255) == gray[i]);
        }
    }
}
