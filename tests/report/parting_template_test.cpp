// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/parting_template.h"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "support/near.h"

using namespace cavigram;

namespace {

const Plan& split_plan() {
    static const Plan plan = [] {
        PlanRequest request;
        request.part.file = "sample_meshes/mooring_cleat.stl";
        request.part.units = parse_length_unit("mm");
        return make_plan(request, {.split = true, .display = true});
    }();
    return plan;
}

double number_after(const std::string& text, const std::string& before, std::size_t from = 0) {
    const std::size_t at = text.find(before, from);
    REQUIRE(at != std::string::npos);
    return std::strtod(text.c_str() + at + before.size(), nullptr);
}

// The heights that are printed.
std::vector<double> heights(const std::string& svg) {
    std::vector<double> list;
    for (std::size_t at = svg.find("class=\"height\""); at != std::string::npos;
         at = svg.find("class=\"height\"", at + 1)) {
        list.push_back(number_after(svg, ">", at));
    }
    return list;
}

// Corners of the path that is drawn with a stroke, in mm from the upper left.
std::vector<Vec2> corners(const std::string& svg, const std::string& stroke) {
    const std::size_t end = svg.find(stroke);
    REQUIRE(end != std::string::npos);
    const std::size_t begin = svg.rfind("<path d=\"", end) + 9;
    std::vector<Vec2> list;
    const char* at = svg.c_str() + begin;
    while (*at == 'M' || *at == 'L' || *at == 'z') {
        if (*at == 'z') {
            ++at;
            continue;
        }
        char* next = nullptr;
        const double x = std::strtod(at + 1, &next);
        const double y = std::strtod(next, &next);
        list.emplace_back(x, y);
        at = next;
    }
    REQUIRE(*at == '"');
    return list;
}

}  // namespace

TEST_CASE("the line is drawn at 1:1, and the printed heights are the line's") {
    const Plan& plan = split_plan();
    const Parting& parting = plan.split->found.parting;
    const LineViews& line = plan.display->line;
    REQUIRE(!line.views.empty());
    for (std::size_t i = 0; i < line.views.size(); ++i) {
        const std::string svg = parting_svg(plan, i);
        // One unit of the drawing is one millimeter on paper.
        CHECK(number_after(svg, "width=\"") == number_after(svg, "viewBox=\"0 0 "));
        CHECK(svg.find(">100 mm<") != std::string::npos);
        CHECK(svg.find(">4 in<") != std::string::npos);
        std::vector<double> told = heights(svg);
        REQUIRE(told.size() == line.views[i].marks.size());
        for (std::size_t k = 0; k < told.size(); ++k) {
            // As printed, to a tenth; between the line's own ends as the split tells them.
            CHECK_NEAR(told[k], line.views[i].marks[k].height_mm, 0.051);
            CHECK(told[k] > parting.low_mm - 0.06);
            CHECK(told[k] < parting.high_mm + 0.06);
        }
        if (line.views[i].side == LineSide::above || line.views[i].side == LineSide::below) {
            continue;
        }
        // On paper each place of the line stands as far above the table as in the part.
        const std::vector<Vec2> outline =
            corners(svg, "fill=\"none\" stroke=\"#000\" stroke-width=\"0.35\"");
        double low_y = 0.0;
        double high_y = 1e9;
        for (const Vec2& p : outline) {
            low_y = std::max(low_y, p.y());
            high_y = std::min(high_y, p.y());
        }
        CHECK_NEAR(low_y - high_y, parting.height_mm, 0.3);
        const std::vector<Vec2> drawn =
            corners(svg, "fill=\"none\" stroke=\"#000\" stroke-width=\"0.6\"");
        double highest_mm = 0.0;
        double lowest_mm = 1e9;
        for (const Vec2& p : drawn) {
            highest_mm = std::max(highest_mm, low_y - p.y());
            lowest_mm = std::min(lowest_mm, low_y - p.y());
        }
        CHECK(highest_mm < parting.high_mm + 0.3);
        CHECK(lowest_mm > parting.low_mm - 0.3);
        const auto [least, most] = std::minmax_element(told.begin(), told.end());
        CHECK_NEAR(highest_mm, *most, 0.3);
        CHECK_NEAR(lowest_mm, *least, 0.3);
    }
}

TEST_CASE("what is larger than a page comes in tiles; files are named by their side") {
    const Plan& plan = split_plan();
    const auto files = parting_files(plan);
    const auto has = [&](const std::string& name) {
        return std::any_of(files.begin(), files.end(),
                           [&](const auto& file) { return file.first == name; });
    };
    CHECK(has("parting_front.svg"));
    // 214 mm are wider than the 180 mm of a tile.
    CHECK(has("parting_front_tiles.html"));
    CHECK(parting_tiles_html(plan, 0).find("tile 1 of 2") != std::string::npos);
}

TEST_CASE("without a line there are no files") {
    Plan plan = split_plan();
    plan.display->line = {};
    CHECK(parting_files(plan).empty());
}
