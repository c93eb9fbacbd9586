// SPDX-License-Identifier: GPL-3.0-or-later
// In a real browser, in three fonts: browser.labels.
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "cavigram/report/svg_text_detail.h"

using namespace cavigram;

TEST_CASE("a line of text says how long it is, and names stay text") {
    const std::string svg = svg_text(10.0, 20.0, 4.0, "middle", "a < b & c");
    CHECK(svg.find("a &lt; b &amp; c</text>") != std::string::npos);
    const std::size_t at = svg.find("textLength=\"");
    REQUIRE(at != std::string::npos);
    CHECK(std::stod(svg.substr(at + 12)) ==
          doctest::Approx(text_width("a < b & c", 4.0)).epsilon(1e-3));
    // A character of several bytes is one.
    CHECK(text_width("\xc3\xa4", 1.0) == text_width("a", 1.0));
    const Box2 box = text_box(10.0, 20.0, 4.0, "middle", "abcd");
    CHECK(0.5 * (box.min().x() + box.max().x()) == doctest::Approx(10.0));
    CHECK(text_box(10.0, 20.0, 4.0, "end", "abcd").max().x() == doctest::Approx(10.0));
}

TEST_CASE("names of crowded places touch neither each other, nor the places, nor the rim") {
    const Box2 sheet(Vec2(0.0, 0.0), Vec2(120.0, 80.0));
    LabelRoom room(sheet);
    std::vector<Vec2> places;
    for (int i = 0; i < 12; ++i) {
        places.emplace_back(50.0 + 4.0 * (i % 4), 35.0 + 4.0 * (i / 4));
        room.take(Box2(places.back() - Vec2(1.0, 1.0), places.back() + Vec2(1.0, 1.0)));
    }
    std::vector<Box2> boxes;
    const std::string name = "vent 1, 2.0 mm";
    for (const Vec2& place : places) {
        const Vec2 put = room.place(place, 2.0, 4.0, name);
        boxes.push_back(text_box(put.x(), put.y(), 4.0, "start", name));
        CHECK(sheet.contains(boxes.back()));
        for (const Vec2& other : places) {
            CHECK(!boxes.back().contains(other));
        }
        for (std::size_t k = 0; k + 1 < boxes.size(); ++k) {
            CHECK(boxes[k].intersection(boxes.back()).isEmpty());
        }
    }
}

TEST_CASE("a direction is named by the axis that it is nearest to") {
    CHECK(axis_name(Vec3(0.9, -0.1, 0.2)) == "+x");
    CHECK(axis_name(Vec3(0.1, -0.9, 0.2)) == "-y");
}
