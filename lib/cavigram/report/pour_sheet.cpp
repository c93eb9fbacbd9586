// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/pour_sheet.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <vector>

#include <nlohmann/json.hpp>

#include "cavigram/core/error.h"
#include "cavigram/report/color_map.h"
#include "cavigram/report/json.h"
#include "cavigram/report/live_detail.h"
#include "cavigram/report/marks_detail.h"
#include "cavigram/report/picture.h"
#include "cavigram/report/shading_detail.h"
#include "cavigram/report/text.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

using Json = nlohmann::ordered_json;

constexpr double kPositionSteps = 65535.0;  // 16 bits: 0.003 mm on a part of 200 mm
constexpr double kValueSteps = 255.0;

Json vector_json(const Vec3& v) {
    return Json::array({v.x(), v.y(), v.z()});
}

// Little-endian, as the page's typed arrays read on every machine that runs a browser.
template <class Number>
std::string packed(const std::vector<Number>& numbers) {
    std::string bytes(numbers.size() * sizeof(Number), '\0');
    std::memcpy(bytes.data(), numbers.data(), bytes.size());
    return base64(bytes);
}

// One coloring: 8 bits for each vertex between two ends.
Json coloring(const char* key, const char* title, const char* unit, double least, double most,
              const std::vector<double>& values) {
    std::vector<std::uint8_t> steps;
    steps.reserve(values.size());
    for (const double value : values) {
        steps.push_back(static_cast<std::uint8_t>(
            std::lround(kValueSteps * std::clamp((value - least) / (most - least), 0.0, 1.0))));
    }
    return {{"key", key},     {"title", title}, {"unit", unit},
            {"least", least}, {"most", most},   {"values", packed(steps)}};
}

Json colorings_json(const Plan& plan) {
    const DisplayBlock& shown = *plan.display;
    Json list = Json::array();
    if (!shown.thickness_mm.empty()) {
        list.push_back(coloring("thickness", "Wall thickness", "mm", 0.0,
                                kShownOverLimit * plan.thin->limit_mm, shown.thickness_mm));
        list.back()["most_is_cap"] = true;
    }
    if (!shown.density_kg_m3.empty()) {
        const auto [low, high] =
            std::minmax_element(shown.density_kg_m3.begin(), shown.density_kg_m3.end());
        list.push_back(coloring("density", "Local density", "kg/m3", *low,
                                std::max(*high, *low + 1.0), shown.density_kg_m3));
    }
    if (!shown.all_skin.empty()) {
        std::vector<double> values(shown.all_skin.begin(), shown.all_skin.end());
        list.push_back(coloring("all_skin", "All-skin zones", "", 0.0, 1.0, values));
        list.back()["classes"] = {"has a soft core", "all skin: stiff and heavy"};
    }
    return list;
}

Json display_json(const Plan& plan) {
    const TriMesh& mesh = plan.display->mesh;
    const Box3 box = bounds(mesh);
    const Vec3 size = box.sizes().cwiseMax(1e-9);
    std::vector<std::uint16_t> positions;
    positions.reserve(3 * mesh.vertices.size());
    for (const Vec3& v : mesh.vertices) {
        for (int k = 0; k < 3; ++k) {
            const double share = std::clamp((v[k] - box.min()[k]) / size[k], 0.0, 1.0);
            positions.push_back(static_cast<std::uint16_t>(std::lround(kPositionSteps * share)));
        }
    }
    std::vector<std::uint32_t> indices;
    indices.reserve(3 * mesh.triangles.size());
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            indices.push_back(static_cast<std::uint32_t>(v));
        }
    }
    Json marks = Json::array();
    for (const Mark& mark : marks_of(plan)) {
        marks.push_back({{"pour_hole", mark.pour_hole},
                         {"plugged", mark.plugged},
                         {"label", mark.label},
                         {"at_mm", vector_json(mark.at_mm)},
                         {"diameter_mm", mark.diameter_mm}});
    }
    Json json = {{"origin_mm", vector_json(box.min())},
                 {"size_mm", vector_json(size)},
                 {"triangles", mesh.triangles.size()},
                 {"deviation_mm", plan.display->deviation_mm},
                 {"positions", packed(positions)},
                 {"indices", packed(indices)},
                 {"front", vector_json(plan.display->front.toward)},
                 {"marks", marks},
                 {"colorings", colorings_json(plan)}};
    // The map's own knots, so that the page's colors and legend are those of the other files.
    Json map = Json::array();
    for (int i = 0; i < 256; ++i) {
        const Rgb c = viridis(i / 255.0);
        map.push_back(c[0] << 16 | c[1] << 8 | c[2]);
    }
    json["color_map"] = map;
    return json;
}

Json pictures_json(const Plan& plan) {
    Json list = Json::array();
    const double scale = picture_scale(plan);
    const auto add = [&](const char* title, const View& view) {
        const Picture one = picture(plan, view, {.pixels_per_mm = scale, .title = title});
        list.push_back({{"title", title}, {"width", one.width_px}, {"svg", base64(one.svg)}});
    };
    add("From the front", plan.display->front);
    add("From the right", plan.display->side);
    add("From above", plan.display->top);
    return list;
}

// JSON within HTML: without these no text in it can open or close an element or an entity.
std::string inert(const std::string& json) {
    std::string safe;
    safe.reserve(json.size() + json.size() / 64);
    for (const char c : json) {
        if (c == '<' || c == '>' || c == '&') {
            safe += c == '<' ? "\\u003c" : c == '>' ? "\\u003e" : "\\u0026";
        } else {
            safe += c;
        }
    }
    return safe;
}

std::string ascii(const Json& json) {
    return json.dump(-1, ' ', true, Json::error_handler_t::replace);
}

}  // namespace

namespace {

Json ways_json(const Plan& plan) {
    Json ways = Json::array();
    for (const MoldHoles& way : plan.display->ways) {
        Json holes = Json::array();
        for (const Vec3& place : way.pour_holes_mm) {
            holes.push_back({{"kind", "pour_hole"}, {"at_mm", vector_json(place)}});
        }
        for (const Vec3& place : way.vents_mm) {
            holes.push_back({{"kind", "vent"}, {"at_mm", vector_json(place)}});
        }
        ways.push_back(holes);
    }
    return ways;
}

}  // namespace

std::string pour_sheet_data(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    Json data;
    data["plan"] = Json::parse(json_text(plan));
    data["live"] = Json::parse(live_json_text(plan));
    data["display"] = display_json(plan);
    data["ways"] = ways_json(plan);
    data["pictures"] = pictures_json(plan);
    return inert(ascii(data));
}

std::string pour_sheet_html(const Plan& plan, std::string_view page) {
    const std::array<std::pair<std::string_view, std::string>, 3> filled = {
        {{"@SHEET_TITLE@", xml_text(plan.input.file)},
         {"@SHEET_SUMMARY@", xml_text(summary_text(plan, {.detail = true}))},
         {"@SHEET_DATA@", pour_sheet_data(plan)}}};
    std::string html;
    std::size_t from = 0;
    // One pass in the page's own order, so that a name in the data that looks like a place is not
    // taken for one.
    for (const auto& [place, text] : filled) {
        const std::size_t at = page.find(place, from);
        CAVIGRAM_ASSERT(at != std::string_view::npos);
        html.append(page.substr(from, at - from)).append(text);
        from = at + place.size();
    }
    return html.append(page.substr(from));
}

}  // namespace cavigram
