// SPDX-License-Identifier: GPL-3.0-or-later
// That Python's csv, json and html modules read the same is in tests/cli/table_test.py.
#include "cavigram/report/scan_table.h"

#include <algorithm>
#include <string>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"

#include "support/kept_plan.h"

using namespace cavigram;

namespace {

ScanRow planned_row(const std::string& scan) {
    ScanRow row;
    row.scan = scan;
    row.folder = "part-00";
    row.end = ScanEnd::planned;
    row.options = "--density=9lb/ft3";
    row.version = "1";
    row.content_sha256 = "ab";
    row.key = "cd";
    row.figures = ScanFigures{.triangles = 12,
                              .size_mm = {25.4, 50.8, 0.1},
                              .volume_mm3 = 1000.0,
                              .volume_low_mm3 = 990.0,
                              .volume_high_mm3 = 1010.0,
                              .vents = 2,
                              .trapped_mm3 = 1.0 / 3.0,
                              .warnings = 1,
                              .pour = ScanPour{.part_g = 33.7,
                                               .molded_kg_m3 = 144.0,
                                               .part_a_g = 12.5,
                                               .part_b_g = 25.0,
                                               .pigment_g = 0.0,
                                               .cups = 3,
                                               .scale_readability_g = 0.1,
                                               .scale_in_ounces = false}};
    return row;
}

ScanRow failed_row(const std::string& scan, const std::string& sentence) {
    ScanRow row;
    row.scan = scan;
    row.folder = "part-01";
    row.sentence = sentence;
    row.again = true;
    return row;
}

std::ptrdiff_t count_of(const std::string& text, const std::string& word) {
    std::ptrdiff_t count = 0;
    for (std::size_t at = text.find(word); at != std::string::npos; at = text.find(word, at + 1)) {
        ++count;
    }
    return count;
}

Plan cleat(double scale_step_g) {
    PlanRequest request;
    request.part.file = "sample_meshes/mooring_cleat.stl";
    request.part.units = parse_length_unit("mm");
    request.foam.scale_readability_g = scale_step_g;
    return kept_plan(request, {.foam = true, .air = true});
}

}  // namespace

TEST_CASE("a row tells what the plan tells, and no grams where it says stop") {
    const Plan plan = cleat(0.1);
    const ScanRow row = scan_row(plan);
    REQUIRE_FALSE(has_stop(plan));
    REQUIRE(row.figures.has_value());
    REQUIRE(row.figures->pour.has_value());
    CHECK(row.end == ScanEnd::planned);
    CHECK(row.sentence.empty());
    CHECK(row.figures->pour->part_a_g == plan.foam->batch.part_a_g);
    CHECK(row.figures->pour->part_b_g == plan.foam->batch.part_b_g);
    CHECK(row.figures->pour->part_g == plan.foam->mass.part_mass_g);
    CHECK(row.figures->volume_mm3 == plan.measures.mass.volume_mm3);
    CHECK(row.figures->vents == static_cast<int>(plan.air->vents.size()));
    CHECK(row.figures->trapped_mm3 == plan.air->trapped_vented_mm3);
    // As sample_meshes/README.md gives its size.
    CHECK(row.figures->size_mm[0] == doctest::Approx(214.0).epsilon(1e-4));

    const Plan stopped = cleat(100.0);
    REQUIRE(has_stop(stopped));
    const ScanRow none = scan_row(stopped);
    CHECK(none.end == ScanEnd::stop);
    REQUIRE(none.figures.has_value());
    CHECK_FALSE(none.figures->pour.has_value());
    CHECK(none.sentence.find("scale") != std::string::npos);
}

TEST_CASE("a record comes back as it was, to the last bit, and what is none is refused") {
    const ScanRow row = planned_row("/scans/\"odd\", \xc3\xa9.stl");
    const ScanRow back = parse_scan_row(scan_row_json(row));
    CHECK(back.scan == row.scan);
    CHECK(back.end == row.end);
    CHECK(back.key == row.key);
    CHECK(back.options == row.options);
    REQUIRE(back.figures.has_value());
    CHECK(back.figures->trapped_mm3 == row.figures->trapped_mm3);
    CHECK(back.figures->size_mm == row.figures->size_mm);
    CHECK(back.figures->pour->cups == 3);
    CHECK(scan_row_json(back) == scan_row_json(row));
    const ScanRow failed = parse_scan_row(scan_row_json(failed_row("x.stl", "No.")));
    CHECK(failed.again);
    CHECK_FALSE(failed.figures.has_value());
    // A path may hold any bytes; JSON may not.
    CHECK(parse_scan_row(scan_row_json(failed_row("x\xff.stl", "No."))).scan ==
          "x\xef\xbf\xbd.stl");
    for (const char* wrong : {"", "{", "[]", "{\"schema\": \"cavigram/1\"}",
                              "{\"schema\": \"cavigram/scan/1\"}", "{\"schema\": 3}"}) {
        CHECK_THROWS_AS(static_cast<void>(parse_scan_row(wrong)), UnusableInput);
    }
    std::string end = scan_row_json(row);
    end.replace(end.find("\"planned\""), 9, "\"perhaps\"");
    CHECK_THROWS_AS(static_cast<void>(parse_scan_row(end)), UnusableInput);
}

TEST_CASE("CSV: RFC 4180, as many fields in each line, metric whatever comes first elsewhere") {
    const std::string csv = scan_table_csv(
        {planned_row("a.stl"), failed_row("b \"two\", c.stl", "Can't use it, sorry.")});
    // RFC 4180, 2.5 to 2.7: fields with commas or quotes stand in quotes, quotes within doubled.
    CHECK(csv.find("\r\n\"b \"\"two\"\", c.stl\",failed,\"Can't use it, sorry.\",") !=
          std::string::npos);
    CHECK(csv.find("\r\na.stl,planned,,12,25.4,50.8,0.1,1000,990,1010,2,0.333333333,1,33.7,144,"
                   "12.5,25,0,3,part-00,--density=9lb/ft3,1,ab\r\n") != std::string::npos);
    const auto line = [&](std::size_t i) {
        std::size_t from = 0;
        for (; i > 0; --i) {
            from = csv.find("\r\n", from) + 2;
        }
        return csv.substr(from, csv.find("\r\n", from) - from);
    };
    // Two commas of the last line stand in quotes.
    CHECK(count_of(line(0), ",") == 22);
    CHECK(count_of(line(1), ",") == 22);
    CHECK(count_of(line(2), ",") == 24);
}

TEST_CASE("HTML: what is wrong comes first, no grams beside it, names are text, no script") {
    ScanRow stop = planned_row("/s/stop.stl");
    stop.end = ScanEnd::stop;
    stop.sentence = "The size, " + told(254.0, Kind::length, 3) + ", is unlikely.";
    stop.figures->pour.reset();
    const std::vector<ScanRow> rows = {planned_row("/s/a.stl"), stop,
                                       failed_row("/s/<b>&'\".stl", "A < B.")};
    const std::string html = scan_table_html(rows);
    const auto at = [&](const char* words) { return html.find(words); };
    CHECK(at("A &lt; B.") < at("The size, 254 mm (10.0 in), is unlikely."));
    CHECK(at("is unlikely") < at("12.5 g in each of 3 cups"));
    CHECK(count_of(html, "12.5 g") == 1);
    CHECK(at("&lt;b&gt;&amp;&#39;&quot;.stl") != std::string::npos);
    CHECK(at("<b>") == std::string::npos);
    CHECK(at("25.40 x 50.80 x 0.1000 mm") != std::string::npos);
    CHECK(at("3 scans: 1 planned, 1 needs attention first, 1 failed.") != std::string::npos);
    CHECK(at("isocyanates") != std::string::npos);
    // A failed scan has no sheet to open.
    CHECK(count_of(html, "href=\"part-00/pour_sheet.html\"") == 2);
    CHECK(count_of(html, "part-01") == 0);
    for (const char* foreign : {"<script", "http", "src=", "@import", "url("}) {
        CHECK_MESSAGE(at(foreign) == std::string::npos, foreign);
    }
    CHECK(scan_table_html(rows, UnitSystem::us).find("1.000 x 2.000 x 0.003937 in") !=
          std::string::npos);
}

TEST_CASE("rows of different options or versions are said to be so") {
    ScanRow other = planned_row("b.stl");
    other.options = "--density=12lb/ft3";
    CHECK(scan_table_html({planned_row("a.stl"), planned_row("b.stl")})
              .find("Made with cavigram 1, --density=9lb/ft3.") != std::string::npos);
    CHECK(scan_table_html({planned_row("a.stl"), other}).find("made in 2 different ways") !=
          std::string::npos);
}

TEST_CASE("a page does not grow without end; CSV has all") {
    std::vector<ScanRow> rows(kMostShownRows + 3, planned_row("a.stl"));
    rows.back() = failed_row("last.stl", "No.");
    const std::string html = scan_table_html(rows);
    CHECK(count_of(html, "<tr class=") == static_cast<std::ptrdiff_t>(kMostShownRows));
    CHECK(html.find("last.stl") < html.find("a.stl"));
    CHECK(html.find("The first 5,000 rows; all 5,003 are in") != std::string::npos);
    CHECK(count_of(scan_table_csv(rows), "\r\n") == static_cast<std::ptrdiff_t>(rows.size() + 1));
    CHECK(scan_counts_text({}) == "0 scans: 0 planned");
}
