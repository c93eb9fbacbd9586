// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/paper_template.h"

#include <cstdlib>

#include <doctest/doctest.h>

#include "sheet_plan.h"

using namespace cavigram;

namespace {

double number_after(const std::string& text, const std::string& before) {
    const std::size_t at = text.find(before);
    return at == std::string::npos ? -1.0 : std::strtod(text.c_str() + at + before.size(), nullptr);
}

// Width and height of the outline: the first path with a gray fill.
Vec2 outline_size(const std::string& svg) {
    const std::size_t begin = svg.find("<path d=\"M", svg.find("Outline true"));
    const std::size_t end = svg.find("fill=\"#e8e8e8\"", begin);
    REQUIRE(end != std::string::npos);
    Vec2 low(1e300, 1e300);
    Vec2 high(-1e300, -1e300);
    const char* at = svg.c_str() + begin + 9;
    while (*at == 'M' || *at == 'L') {
        char* next = nullptr;
        const double x = std::strtod(at + 1, &next);
        const double y = std::strtod(next, &next);
        low = low.cwiseMin(Vec2(x, y));
        high = high.cwiseMax(Vec2(x, y));
        at = *next == 'z' ? next + 1 : next;
    }
    return high - low;
}

}  // namespace

TEST_CASE("templates are true to size in millimeters") {
    const Plan& plan = sheet_plan();
    const Vec3 size = plan.measures.mass.bounds_mm.sizes();
    const std::string top = template_svg(plan, TemplateSide::top);
    const std::string front = template_svg(plan, TemplateSide::front);
    for (const std::string& svg : {top, front}) {
        // One unit of the drawing is one millimeter on paper: width="...mm" and viewBox agree.
        CHECK(number_after(svg, "width=\"") == number_after(svg, "viewBox=\"0 0 "));
        CHECK(svg.find("100 mm") != std::string::npos);
        CHECK(svg.find("4 in") != std::string::npos);
        CHECK(svg.find("vent 1, 2.0 mm (5/64 in)") != std::string::npos);
        // It is poured into the open half: the hole on top is a vent.
        CHECK(svg.find(">P, 2.0 mm (5/64 in)<") != std::string::npos);
        CHECK(svg.find("left (-x)") != std::string::npos);
    }
    // As the file stands (z up) the widest side shows x across and z up; from above, x and y.
    const double cell = plan.display->top_outline.cell_mm;
    CHECK((outline_size(top) - Vec2(size.x(), size.y())).cwiseAbs().maxCoeff() < 2 * cell);
    CHECK((outline_size(front) - Vec2(size.x(), size.z())).cwiseAbs().maxCoeff() < 2 * cell);
}

TEST_CASE("a plugged pour hole says so; one that is not there has no mark") {
    Plan plan = sheet_plan();
    // The part takes no wider hole there (venting/hole_fit).
    plan.bench->method = PourMethod::through_hole;
    CHECK(template_svg(plan, TemplateSide::top).find(">P, 13 mm (33/64 in)<") != std::string::npos);
    plan.air->openings.front().opening.lets_air_out = false;
    CHECK(template_svg(plan, TemplateSide::top).find(">P, plugged, 13 mm (33/64 in)<") !=
          std::string::npos);
    plan.air->openings.clear();
    CHECK(template_svg(plan, TemplateSide::top).find(">P,") == std::string::npos);
}

TEST_CASE("what is larger than a page comes in tiles that make the whole drawing again") {
    const Plan& plan = sheet_plan();
    const std::string html = template_tiles_html(plan, TemplateSide::top);
    // 214 mm and a margin on both sides: two columns of 180 mm, each with both bars and one half of
    // the diamond of joint 1.
    const auto count = [&](const std::string& words) {
        std::size_t found = 0;
        for (std::size_t at = html.find(words); at != std::string::npos;
             at = html.find(words, at + 1)) {
            ++found;
        }
        return found;
    };
    CHECK(count("class=\"tile\"") == 2);
    CHECK(count(">100 mm</text>") == 2);
    CHECK(count(">4 in</text>") == 2);
    CHECK(count(">1</text>") == 2);
    CHECK(html.find("viewBox=\"0 0 180 226\"><use href=\"#drawing\"/>") != std::string::npos);
    CHECK(html.find("viewBox=\"180 0 180 226\"><use href=\"#drawing\"/>") != std::string::npos);
    CHECK(html.find("tile 2 of 2, row 1, column 2") != std::string::npos);
}

TEST_CASE("what fits on a page needs no tiles") {
    Plan plan = sheet_plan();
    for (auto& loop : plan.display->top_outline.loops) {
        for (Vec2& p : loop) {
            p *= 0.25;
        }
    }
    CHECK(template_tiles_html(plan, TemplateSide::top).empty());
}
