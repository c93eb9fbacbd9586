// SPDX-License-Identifier: GPL-3.0-or-later
// What the page does with the data is tested in tests/browser.
#include "cavigram/report/pour_sheet.h"

#include <algorithm>
#include <set>
#include <string>

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
