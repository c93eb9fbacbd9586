// SPDX-License-Identifier: GPL-3.0-or-later
// What the page does with the data is tested in tests/browser.
#include "cavigram/report/pour_sheet.h"

#include <algorithm>
#include <cmath>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include <doctest/doctest.h>
#include <nlohmann/json.hpp>

#include "cavigram/report/json.h"

#include "sheet_plan.h"

using namespace cavigram;

TEST_CASE("the data: the plan as JSON has it, the live figures, the surface in few bytes") {
    const Plan& plan = sheet_plan();
    const auto data = nlohmann::json::parse(pour_sheet_data(plan));
    CHECK(data["plan"] == nlohmann::json::parse(json_text(plan)));
    CHECK(data["live"]["density_kg_m3"].get<double>() == plan.foam->mass.molded_density_kg_m3);
    CHECK(data["live"]["mixes"].size() == 2);
    CHECK(data["live"]["taken"]["mix_a"].get<double>() == plan.foam->card.mix.a);
    CHECK(data["live"]["bench"]["open_half_mm3"].get<double>() ==
          plan.bench->request.open_half_mm3);
    CHECK(data["marks"].size() == 2);
    CHECK(data["ways"].size() == plan.orientations->rows.size());
    CHECK(data["thin_marks"].size() == plan.thin->places.size());
    CHECK(data["pictures"].size() == 3);
    // 6 bytes a vertex and 12 a triangle, four characters for three bytes.
    const std::size_t vertices = plan.display->mesh.vertices.size();
    const auto characters = [](std::size_t bytes) { return (bytes + 2) / 3 * 4; };
    CHECK(data["display"]["positions"].get<std::string>().size() == characters(6 * vertices));
    CHECK(data["display"]["colorings"][0]["values"].get<std::string>().size() ==
          characters(vertices));
}

TEST_CASE("the rise is there to be played: a level that rises reaches each place by its height") {
    PlanRequest request;
    request.part.file = "sample_meshes/figurehead_scan.obj";
    request.part.units = parse_length_unit("mm");
    const Plan plan = make_plan(
        request, {.foam = true, .air = true, .bench = true, .rise = true, .display = true});
    REQUIRE(plan.rise.has_value());
    REQUIRE(plan.rise->rise.level == RiseLevel::still);
    const auto data = nlohmann::json::parse(pour_sheet_data(plan));
    const auto& rising = data["rising"];
    const std::size_t vertices = plan.display->mesh.vertices.size();
    REQUIRE(plan.display->arrival_s.size() == vertices);
    CHECK(rising["arrival"].get<std::string>().size() == (2 * vertices + 2) / 3 * 4);
    CHECK(rising["from_s"].get<double>() < rising["to_s"].get<double>());
    double last_s = 0.0;
    for (const auto& event : rising["events"]) {
        CHECK(event["time_s"].get<double>() >= last_s);
        last_s = event["time_s"].get<double>();
        CHECK(last_s <= rising["to_s"].get<double>());
    }
    CHECK(rising["marks"].size() >= 1);
    CHECK(rising["story"].dump().find("guess") == std::string::npos);
    // Communicating vessels: of two places, one higher than the other by more than cells and
    // decimation may err, the higher one is never reached first.
    const double apart_mm = 4.0 * plan.rise->rise.cell_mm + 2.0 * plan.display->deviation_mm;
    std::vector<std::pair<double, double>> height_time;
    for (std::size_t v = 0; v < vertices; ++v) {
        if (std::isfinite(plan.display->arrival_s[v])) {
            height_time.emplace_back(plan.display->mesh.vertices[v].dot(plan.air->up),
                                     plan.display->arrival_s[v]);
        }
    }
    REQUIRE(height_time.size() > vertices / 2);
    std::sort(height_time.begin(), height_time.end());
    std::size_t low = 0;
    double latest_below_s = 0.0;
    std::size_t wrong = 0;
    for (const auto& [height_mm, time_s] : height_time) {
        for (; height_time[low].first < height_mm - apart_mm; ++low) {
            latest_below_s = std::max(latest_below_s, height_time[low].second);
        }
        wrong += time_s < latest_below_s ? 1 : 0;
    }
    CHECK(wrong == 0);
}

TEST_CASE("rows come worded, with quantities in pieces; what the knobs change is not among them") {
    const auto data = nlohmann::json::parse(pour_sheet_data(sheet_plan()));
    std::set<std::string> labels;
    for (const auto& row : data["facts"]) {
        labels.insert(row["label"].get<std::string>());
    }
    CHECK(labels.count("Skin") == 1);
    for (const char* const live : {"Mix", "Part", "Presses"}) {
        CHECK_MESSAGE(labels.count(live) == 0, live);
    }
    for (const auto& row : data["air"]) {
        CHECK(row["label"] != "Vents");
    }
    // "355 mm": a number and its kind, no unit; sentences never hold marks of told.h.
    CHECK(data["size"][0]["kind"] == "length");
    CHECK(data["size"][0]["telling"] == "pair");
    CHECK(pour_sheet_data(sheet_plan()).find("\\u001e") == std::string::npos);
}

TEST_CASE("no name can end the element that holds the data, or add one to the page") {
    Plan plan = sheet_plan();
    plan.input.file = "</script><b>&amp;@SHEET_DATA@\xff.stl";
    const std::string data = pour_sheet_data(plan);
    CHECK(data.find_first_of("<>&") == std::string::npos);
    CHECK(std::all_of(data.begin(), data.end(),
                      [](char c) { return static_cast<unsigned char>(c) < 128; }));
    const std::string html = pour_sheet_html(
        plan, "<title>@SHEET_TITLE@</title><pre>@SHEET_SUMMARY@</pre><s>@SHEET_DATA@</s>");
    CHECK(html.find("<b>") == std::string::npos);
    CHECK(html.find("</script>") == std::string::npos);
    CHECK(html.rfind("</s>") == html.size() - 4);
}

TEST_CASE("the part to turn has the sheet's own surface, all ways up, and one that is planned") {
    const Plan& plan = sheet_plan();
    const auto model = nlohmann::json::parse(part_model_text(plan));
    CHECK(model["display"] == nlohmann::json::parse(pour_sheet_data(plan))["display"]);
    CHECK(model["up"][2] == 1.0);
    std::set<int> ranks;
    int planned = 0;
    for (const auto& way : model["ways"]) {
        ranks.insert(way["rank"].get<int>());
        planned += way["planned"].get<bool>() ? 1 : 0;
    }
    CHECK(ranks.size() == plan.orientations->rows.size());
    CHECK(planned == 1);
    // Four floats a direction, four characters for three bytes.
    CHECK(model["map"].get<std::string>().size() ==
          (16 * plan.orientations->scanned.size() + 2) / 3 * 4);
}
