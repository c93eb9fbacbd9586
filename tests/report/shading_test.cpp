// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include <doctest/doctest.h>

#include "cavigram/mesh/solids.h"
#include "cavigram/report/shading_detail.h"

using namespace cavigram;

TEST_CASE("the test vectors of RFC 4648") {
    CHECK(base64("") == "");
    CHECK(base64("f") == "Zg==");
    CHECK(base64("fo") == "Zm8=");
    CHECK(base64("foo") == "Zm9v");
    CHECK(base64("foob") == "Zm9vYg==");
    CHECK(base64("fooba") == "Zm9vYmE=");
    CHECK(base64("foobar") == "Zm9vYmFy");
}

TEST_CASE("a box from the front: its size in pixels, its nearness, white around it") {
    const View front = view_from(-Vec3::UnitY(), Vec3::UnitZ());
    const ShadedImage image = shaded(box_solid(100, 60, 40).mesh, front, 4.0);
    CHECK(image.width == 408);  // 400 and a margin of 4 on both sides
    CHECK(image.height == 168);
    CHECK(image.gray.front() == 255);
    const Vec2 middle = image.pixel({50, 20});
    const auto i =
        static_cast<std::size_t>(middle.y()) * 408 + static_cast<std::size_t>(middle.x());
    CHECK(image.nearness_mm[i] == doctest::Approx(0.0));  // the front face lies in y = 0
    CHECK(image.gray[i] < 255);
    // The share of pixels that are not white is that of the box in the image.
    const auto dark =
        std::count_if(image.gray.begin(), image.gray.end(), [](std::uint8_t g) { return g < 250; });
    CHECK(static_cast<double>(dark) == doctest::Approx(400.0 * 160.0).epsilon(0.01));
    // A point behind the box is hidden, one before it and one beside it are not.
    CHECK(image.hides({50, 20}, -30.0, 1.0));
    CHECK_FALSE(image.hides({50, 20}, 0.0, 1.0));
    CHECK_FALSE(image.hides({-0.9, 20}, -30.0, 1.0));
}
