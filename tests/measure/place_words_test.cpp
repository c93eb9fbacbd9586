// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/place_words.h"

#include <doctest/doctest.h>

#include "cavigram/core/told.h"
#include "cavigram/mesh/solids.h"

using namespace cavigram;

namespace {

// A bar of 200 x 40 x 30 mm with one corner at the origin: the long axis is x.
PlaceFrame bar(const std::optional<Vec3>& up = std::nullopt) {
    return place_frame(mass_properties(box_solid(200, 40, 30).mesh), up);
}

Box3 box(const Vec3& low, const Vec3& high) {
    Box3 b;
    b.extend(low);
    b.extend(high);
    return b;
}

template <class Place>
std::string words_of(const PlaceFrame& frame, const Place& place) {
    return rendered(place_words(frame, place).words);
}

std::string words_of_pair(const PlaceFrame& frame, const Box3& one, const Box3& other) {
    const std::optional<std::string> words = pair_words(frame, one, other);
    return words ? rendered(*words) : "no pair";
}

}  // namespace

TEST_CASE("the long axis is the longest side of the box; of equal ones the axis of most extent") {
    CHECK(bar().long_axis == 0);
    CHECK(place_frame(mass_properties(box_solid(10, 40, 30).mesh)).long_axis == 1);
    CHECK(place_frame(mass_properties(box_solid(10, 40, 300).mesh)).long_axis == 2);
    CHECK(place_frame(mass_properties(box_solid(10, 40, 40.5).mesh)).long_axis == 2);
}

TEST_CASE("a point by its distance from the nearer end and sides") {
    CHECK(words_of(bar(), Vec3(112, 16, 30)) ==
          "88 mm from the +x end, 16 mm from the -y side, on the +z side");
    CHECK(words_of(bar(), Vec3(0.5, 39.9, 12.0)) ==
          "at the -x end, on the +y side, 12 mm from the -z side");
    const PlaceWords near_end = place_words(bar(), Vec3(192.25, 20, 15));
    CHECK(rendered(near_end.words).rfind("7.8 mm from the +x end", 0) == 0);
    CHECK(near_end.end == "+x");
    CHECK(near_end.from_end_mm == doctest::Approx(7.75));
    CHECK(near_end.to_end_mm == near_end.from_end_mm);
}

TEST_CASE("top and bottom where the way up is an axis, either way around, and not where it leans") {
    CHECK(words_of(bar(Vec3(0, 0, 2)), Vec3(112, 16, 30)) ==
          "88 mm from the +x end, 16 mm from the -y side, on the top");
    CHECK(words_of(bar(Vec3(0, 0, -1)), Vec3(112, 16, 30)) ==
          "88 mm from the +x end, 16 mm from the -y side, on the bottom");
    CHECK(words_of(bar(Vec3(0, 1, 1)), Vec3(112, 16, 30)) ==
          "88 mm from the +x end, 16 mm from the -y side, on the +z side");
    // Stood on its end.
    CHECK(words_of(bar(Vec3(1, 0, 0)), Vec3(188, 16, 30)) ==
          "12 mm from the top, 16 mm from the -y side, on the +z side");
}

TEST_CASE("a region by the stretch of the long axis that it takes") {
    CHECK(words_of(bar(), box({186, 3, 3}, {199, 37, 27})) == "at the +x end, last 14 mm");
    CHECK(words_of(bar(), box({0, 3, 3}, {14, 10, 27})) ==
          "at the -x end, last 14 mm, toward the -y side");
    CHECK(words_of(bar(), box({20, 3, 20}, {45, 37, 29})) ==
          "from 20 to 45 mm from the -x end, toward the +z side");
    CHECK(words_of(bar(), box({10, 0, 0}, {190, 4, 30})) == "all along, toward the -y side");
    CHECK(words_of(bar(), box({120, 5, 3}, {120.2, 8, 6})) ==
          "80 mm from the +x end, toward the -y side and the -z side");
    const PlaceWords region = place_words(bar(), box({20, 3, 20}, {45, 37, 29}));
    CHECK(region.end == "-x");
    CHECK(region.from_end_mm == 20.0);
    CHECK(region.to_end_mm == 45.0);
}

TEST_CASE("in the units of who reads it") {
    CHECK(rendered(place_words(bar(), box({186, 3, 3}, {199, 37, 27})).words, UnitSystem::us) ==
          "at the +x end, last 0.55 in");
    CHECK(rendered(place_words(bar(), box({20, 3, 20}, {45, 37, 29})).words, UnitSystem::us) ==
          "from 0.79 to 1.8 in from the -x end, toward the +z side");
}

TEST_CASE("two regions that mirror each other are said together") {
    const Box3 left = box({0, 3, 3}, {14, 37, 27});
    const Box3 right = box({187, 3, 3}, {200, 37, 27});
    CHECK(words_of_pair(bar(), left, right) == "both ends, last 14 mm");
    CHECK(words_of_pair(bar(), right, left) == "both ends, last 14 mm");
    CHECK(words_of_pair(bar(), box({20, 0, 20}, {45, 4, 29}), box({20, 36, 20}, {45, 40, 29})) ==
          "both sides, -y and +y, from 20 to 45 mm from the -x end, toward the +z side");
    CHECK(words_of_pair(bar(Vec3(0, 0, 1)), box({20, 0, 0}, {45, 40, 4}),
                        box({20, 0, 26}, {45, 40, 30})) ==
          "top and bottom, from 20 to 45 mm from the -x end");
    CHECK(words_of_pair(bar(), box({20, 3, 3}, {30, 37, 27}), box({170, 3, 3}, {180, 37, 27})) ==
          "from 20 to 30 mm from each end");
    // Unlike sizes, one beside the other, or the same place: no pair.
    CHECK_FALSE(pair_words(bar(), left, box({150, 3, 3}, {200, 37, 27})));
    CHECK_FALSE(pair_words(bar(), left, box({20, 3, 3}, {34, 37, 27})));
    CHECK_FALSE(pair_words(bar(), box({10, 0, 0}, {190, 4, 30}), box({10, 0, 0}, {190, 4, 30})));
}
