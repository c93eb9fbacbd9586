// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/picture.h"

#include <string>

#include <doctest/doctest.h>

#include "sheet_plan.h"

using namespace cavigram;

TEST_CASE("a picture holds the shaded part, a mark for each hole, and its title as text") {
    const Plan& plan = sheet_plan();
    REQUIRE(plan.air->vents.size() == 1);
    const double scale = picture_scale(plan, 300);
    const Picture one =
        picture(plan, plan.display->front, {.pixels_per_mm = scale, .title = "<b> & front"});
    CHECK(one.svg.find("data:image/png;base64,iVBORw0KGgo") != std::string::npos);
    CHECK(one.svg.find("&lt;b&gt; &amp; front") != std::string::npos);
    CHECK(one.svg.find("<b>") == std::string::npos);
    CHECK(one.svg.find(">P</text>") != std::string::npos);
    CHECK(one.svg.find(">1</text>") != std::string::npos);
    CHECK(one.svg.find(">2</text>") == std::string::npos);
    CHECK(one.svg.find("50 mm (1.97 in)") != std::string::npos);
    CHECK(one.width_px > 300);
    CHECK(one.svg ==
          picture(plan, plan.display->front, {.pixels_per_mm = scale, .title = "<b> & front"}).svg);
}

TEST_CASE("the longest side of the widest view is as many pixels as asked") {
    // The cleat is 214 mm long.
    CHECK(picture_scale(sheet_plan(), 428) == doctest::Approx(2.0).epsilon(1e-3));
}

TEST_CASE("a narrow view is wide enough for the words beside its bar") {
    const Plan& plan = sheet_plan();
    const Picture side = picture(plan, plan.display->side,
                                 {.pixels_per_mm = picture_scale(plan, 1500), .title = "side"});
    const std::size_t words = side.svg.find(" mm (");
    REQUIRE(words != std::string::npos);
    const std::size_t tag = side.svg.rfind("<text x=\"", words);
    const double x = std::stod(side.svg.substr(tag + 9));
    const double length = std::stod(side.svg.substr(side.svg.find("textLength=\"", tag) + 12));
    // About 16 characters of 30 px, each half as wide as high.
    CHECK(length == doctest::Approx(240).epsilon(0.2));
    CHECK(side.width_px >= x + length);
}

TEST_CASE("both ends are named by the file's axes, and so is what points upward") {
    const Plan& plan = sheet_plan();
    const Picture front = picture(plan, plan.display->front,
                                  {.pixels_per_mm = picture_scale(plan, 300), .title = "front"});
    // The cleat is long along x, and stands on z.
    for (const char* const words : {">-x</text>", ">+x</text>", ">front, +z at the top</text>"}) {
        CHECK_MESSAGE(front.svg.find(words) != std::string::npos, words);
    }
}

TEST_CASE("a plugged pour hole says so; one that is not there has no mark") {
    Plan plan = sheet_plan();
    const PictureOptions options = {.pixels_per_mm = picture_scale(plan, 300), .title = "front"};
    CHECK(picture(plan, plan.display->front, options).svg.find("plugged") == std::string::npos);
    plan.air->openings.front().opening.lets_air_out = false;
    CHECK(picture(plan, plan.display->front, options).svg.find("; P plugged</text>") !=
          std::string::npos);
    plan.air->openings.clear();
    CHECK(picture(plan, plan.display->front, options).svg.find(">P</text>") == std::string::npos);
}
