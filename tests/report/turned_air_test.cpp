// SPDX-License-Identifier: GPL-3.0-or-later
// Volumes within what is drawn, and figures against the plan: tests/serve/air_test.py.
#include "cavigram/report/turned_air.h"

#include <cstdint>
#include <cstring>
#include <string>
#include <vector>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

using namespace cavigram;

namespace {

// RFC 4648, section 4.
std::vector<std::int32_t> unpacked(const std::string& base64) {
    static const std::string kAlphabet =
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    std::string bytes;
    std::uint32_t held = 0;
    int bits = 0;
    for (const char c : base64) {
        if (c == '=') {
            break;
        }
        held = held << 6U | static_cast<std::uint32_t>(kAlphabet.find(c));
        bits += 6;
        if (bits >= 8) {
            bits -= 8;
            bytes += static_cast<char>(held >> static_cast<unsigned>(bits) & 255U);
        }
    }
    std::vector<std::int32_t> numbers(bytes.size() / 4);
    std::memcpy(numbers.data(), bytes.data(), 4 * numbers.size());
    return numbers;
}

}  // namespace

TEST_CASE("the air of a way up, for a page that draws it") {
    TurnedAir turned;
    turned.air.up = Vec3(0, 1, 0);
    turned.air.trapped_vented_mm3 = 2000.0;
    turned.air.unvented.total_mm3 = 5000.0;
    turned.squeezed_mm3 = 1000.0;
    turned.squeezed_g = 0.25;
    Pocket pocket;
    pocket.spill_height_mm = 7.5;
    pocket.volume_mm3 = 2000.0;
    turned.left.push_back({pocket, {3, 70000, 5}});
    pocket.parent = 0;
    turned.left.push_back({pocket, {}});
    const std::string text = turned_air_text(turned);
    CHECK(text.find('\n') == text.size() - 1);
    const auto data = nlohmann::json::parse(text);
    CHECK(data["up"] == nlohmann::json({0.0, 1.0, 0.0}));
    CHECK(data["trapped_unvented_mm3"] == 5000.0);
    CHECK(data["trapped_vented_mm3"] == 2000.0);
    CHECK(data["squeezed_mm3"] == 1000.0);
    CHECK(data["squeezed_g"] == 0.25);
    CHECK(data["left"][0]["level_mm"] == 7.5);
    CHECK(data["left"][1]["inside_pocket"] == 0);
    CHECK(data["left"][1]["triangles"] == "");
    CHECK(unpacked(data["left"][0]["triangles"]) == std::vector<std::int32_t>{3, 70000, 5});
    // What was not looked for is not told.
    CHECK_FALSE(data.contains("liquid"));
    CHECK_FALSE(data.contains("second_method"));
}
