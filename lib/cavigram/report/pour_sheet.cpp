// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/pour_sheet.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "cavigram/core/error.h"
#include "cavigram/report/color_map.h"
#include "cavigram/report/colored_part.h"
#include "cavigram/report/json_detail.h"
#include "cavigram/report/picture.h"
#include "cavigram/report/planned_way_detail.h"
#include "cavigram/report/shading_detail.h"
#include "cavigram/report/sheet_words_detail.h"
#include "cavigram/report/text.h"
#include "cavigram/report/xml_detail.h"

namespace cavigram {

namespace {

using detail::SheetColoring;
using detail::SheetDisplay;
using detail::SheetPicture;

constexpr double kSideSteps = 32767.0;
constexpr double kPositionSteps = 65535.0;  // 16 bits: 0.003 mm on a part of 200 mm
constexpr double kValueSteps = 255.0;

// Little-endian, as the page's typed arrays read on every machine that runs a browser.
template <class Number>
std::string packed(const std::vector<Number>& numbers) {
    return base64({reinterpret_cast<const char*>(numbers.data()), numbers.size() * sizeof(Number)});
}

// One coloring: 8 bits for each vertex between two ends.
std::string steps(const std::vector<double>& values, const ColorEnds& ends) {
    std::vector<std::uint8_t> bytes;
    bytes.reserve(values.size());
    for (const double value : values) {
        bytes.push_back(static_cast<std::uint8_t>(std::lround(kValueSteps * ends.share(value))));
    }
    return packed(bytes);
}

// 1 at the vertices of which most triangles are the upper half's.
std::vector<double> mostly_upper(const DisplayBlock& shown) {
    std::vector<double> votes(shown.mesh.vertices.size(), 0.0);
    for (std::size_t t = 0; t < shown.mesh.triangles.size(); ++t) {
        for (const std::int32_t v : shown.mesh.triangles[t]) {
            votes[static_cast<std::size_t>(v)] += shown.upper_half[t] == 1 ? 1.0 : -1.0;
        }
    }
    for (double& vote : votes) {
        vote = vote > 0.0 ? 1.0 : 0.0;
    }
    return votes;
}

void add_thickness(std::vector<SheetColoring>& list, const Plan& plan) {
    const DisplayBlock& shown = *plan.display;
    if (!shown.thickness_mm.empty()) {
        const double limit_mm = plan.thin->limit_mm;
        const ColorEnds ends = thickness_ends(plan);
        list.push_back({"thin",
                        "Thin places",
                        "length",
                        0.0,
                        limit_mm,
                        "not listed as thin",
                        true,
                        {},
                        steps(shown.thin_mm, {0.0, limit_mm})});
        list.push_back({"thickness",
                        "Wall thickness",
                        "length",
                        ends.violet,
                        ends.yellow,
                        "or more",
                        false,
                        {},
                        steps(shown.thickness_mm, ends)});
    }
}

// The first is shown first: where the part is thin, if it is anywhere; else how thick it is.
std::vector<SheetColoring> colorings_of(const Plan& plan) {
    const DisplayBlock& shown = *plan.display;
    std::vector<SheetColoring> list;
    add_thickness(list, plan);
    if (!shown.density_kg_m3.empty()) {
        const ColorEnds ends = density_ends(plan);
        list.push_back({"density",
                        "Local density",
                        "density",
                        ends.violet,
                        ends.yellow,
                        "",
                        false,
                        {},
                        steps(shown.density_kg_m3, ends)});
    }
    if (!shown.all_skin.empty()) {
        const std::vector<double> values(shown.all_skin.begin(), shown.all_skin.end());
        list.push_back({"all_skin",
                        "All-skin zones",
                        "",
                        0.0,
                        1.0,
                        "",
                        false,
                        {"all skin: stiff and heavy", "has a soft core"},
                        steps(values, {1.0, 0.0})});
    }
    if (!shown.arrival_s.empty()) {
        const ColorEnds ends = arrival_ends(plan);
        list.push_back({"arrival",
                        "When foam arrives",
                        "time",
                        ends.violet,
                        ends.yellow,
                        "",
                        false,
                        {},
                        steps(shown.arrival_s, ends)});
    }
    if (!shown.upper_half.empty()) {
        list.push_back({"halves",
                        "Mold halves",
                        "",
                        0.0,
                        1.0,
                        "",
                        false,
                        {"lower half", "upper half"},
                        steps(mostly_upper(shown), {0.0, 1.0})});
    }
    return list;
}

SheetDisplay display_of(const Plan& plan) {
    const TriMesh& mesh = plan.display->mesh;
    const Box3 box = bounds(mesh);
    SheetDisplay shown;
    shown.origin_mm = box.min();
    shown.size_mm = box.sizes().cwiseMax(1e-9);
    shown.triangles = mesh.triangles.size();
    shown.deviation_mm = plan.display->deviation_mm;
    shown.front = plan.display->front.toward;
    std::vector<std::uint16_t> positions;
    positions.reserve(3 * mesh.vertices.size());
    for (const Vec3& v : mesh.vertices) {
        for (int k = 0; k < 3; ++k) {
            const double share = std::clamp((v[k] - box.min()[k]) / shown.size_mm[k], 0.0, 1.0);
            positions.push_back(static_cast<std::uint16_t>(std::lround(kPositionSteps * share)));
        }
    }
    shown.positions = packed(positions);
    std::vector<std::uint32_t> indices;
    indices.reserve(3 * mesh.triangles.size());
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            indices.push_back(static_cast<std::uint32_t>(v));
        }
    }
    shown.indices = packed(indices);
    shown.halves = packed(plan.display->upper_half);
    std::vector<std::int16_t> sides;
    for (const double side : plan.display->half_side) {
        // Never 0 where it is not: the side is kept.
        const double share = std::clamp(side, -1.0, 1.0) * kSideSteps;
        sides.push_back(
            static_cast<std::int16_t>(share < 0.0 ? std::floor(share) : std::ceil(share)));
    }
    shown.half_side = packed(sides);
    shown.colorings = colorings_of(plan);
    // The map's own knots, so that the page's colors and legend are those of the other files.
    for (int i = 0; i < 256; ++i) {
        const Rgb c = viridis(i / 255.0);
        shown.color_map.push_back(c[0] << 16 | c[1] << 8 | c[2]);
    }
    return shown;
}

// When foam arrives, finely enough to be played, and from when to when.
void add_arrival(detail::SheetRise& rising, const Plan& plan) {
    constexpr double kSteps = 65534.0;
    constexpr std::uint16_t kNever = 65535;
    const std::vector<RiseMoment>& moments = plan.rise->rise.moments;
    rising.from_s = moments.front().time_s;
    rising.to_s = moments.back().time_s;
    const std::vector<double>& arrival_s = plan.display->arrival_s;
    for (const double time_s : arrival_s) {
        if (std::isfinite(time_s)) {
            rising.to_s = std::max(rising.to_s, time_s);
        }
    }
    for (const detail::SheetMoment& event : rising.events) {
        rising.to_s = std::max(rising.to_s, event.time_s);
    }
    const double span = std::max(rising.to_s - rising.from_s, 1e-9);
    std::vector<std::uint16_t> steps;
    steps.reserve(arrival_s.size());
    for (const double time_s : arrival_s) {
        const double share = std::clamp((time_s - rising.from_s) / span, 0.0, 1.0);
        steps.push_back(std::isfinite(time_s)
                            ? static_cast<std::uint16_t>(std::lround(kSteps * share))
                            : kNever);
    }
    rising.arrival = packed(steps);
}

std::vector<SheetPicture> pictures_of(const Plan& plan) {
    const double scale = picture_scale(plan);
    std::vector<SheetPicture> list;
    const auto add = [&](const char* title, const View& view) {
        const Picture one = picture(plan, view, {.pixels_per_mm = scale, .title = title});
        list.push_back({title, one.width_px, base64(one.svg)});
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

}  // namespace

std::string pour_sheet_data(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    detail::Sheet sheet = detail::sheet_in_words(plan);
    sheet.display = display_of(plan);
    sheet.pictures = pictures_of(plan);
    if (sheet.rising) {
        add_arrival(*sheet.rising, plan);
    }
    return inert(detail::json_bytes(
        [&](detail::Sink& sink) { detail::sheet_block().write(sheet, sink); }, -1, true));
}

std::string part_model_text(const Plan& plan) {
    CAVIGRAM_ASSERT(plan.display.has_value());
    detail::PartModel model;
    model.display = display_of(plan);
    model.up = plan.air ? plan.air->up : Vec3(Vec3::UnitZ());
    if (plan.orientations) {
        std::vector<float> map;
        for (const ScannedWayUp& way : plan.orientations->scanned) {
            for (const double number : {way.up.x(), way.up.y(), way.up.z(), way.vented_mm3}) {
                map.push_back(static_cast<float>(number));
            }
        }
        model.map = packed(map);
        for (const RankedWayUp& row : plan.orientations->rows) {
            model.ways.push_back({row.rank, row.value.up, plan.air && &row == &planned_way(plan)});
        }
    }
    return detail::json_bytes(
               [&](detail::Sink& sink) { detail::part_model_block().write(model, sink); }, -1,
               true) +
           "\n";
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
