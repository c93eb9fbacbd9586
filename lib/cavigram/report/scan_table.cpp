// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/scan_table.h"

#include <algorithm>
#include <set>

#include <fmt/core.h>
#include <nlohmann/json.hpp>

#include "cavigram/core/error.h"
#include "cavigram/foam/batch.h"
#include "cavigram/plan/cautions.h"
#include "cavigram/report/page_detail.h"
#include "cavigram/report/xml_detail.h"
#include "cavigram/tally/casting.h"

namespace cavigram {

namespace {

using Json = nlohmann::ordered_json;

constexpr const char* kSchema = "cavigram/scan/1";

ScanPour pour_of(const FoamBlock& foam) {
    return {.part_g = foam.mass.part_mass_g,
            .molded_kg_m3 = foam.mass.molded_density_kg_m3,
            .part_a_g = foam.batch.part_a_g,
            .part_b_g = foam.batch.part_b_g,
            .pigment_g = foam.batch.pigment_g,
            .cups = foam.batch.cups_each,
            .scale_readability_g = foam.batch.scale_readability_g,
            .scale_in_ounces = foam.batch.scale_in_ounces};
}

Json json_of(const ScanPour& pour) {
    return {{"part_g", pour.part_g},
            {"molded_kg_m3", pour.molded_kg_m3},
            {"part_a_g", pour.part_a_g},
            {"part_b_g", pour.part_b_g},
            {"pigment_g", pour.pigment_g},
            {"cups", pour.cups},
            {"scale_readability_g", pour.scale_readability_g},
            {"scale_in_ounces", pour.scale_in_ounces}};
}

ScanPour parsed_pour(const Json& json) {
    return {.part_g = json.at("part_g"),
            .molded_kg_m3 = json.at("molded_kg_m3"),
            .part_a_g = json.at("part_a_g"),
            .part_b_g = json.at("part_b_g"),
            .pigment_g = json.at("pigment_g"),
            .cups = json.at("cups"),
            .scale_readability_g = json.at("scale_readability_g"),
            .scale_in_ounces = json.at("scale_in_ounces")};
}

Json json_of(const ScanFigures& figures) {
    Json json = {{"triangles", figures.triangles},
                 {"size_mm", figures.size_mm},
                 {"volume_mm3", figures.volume_mm3},
                 {"volume_low_mm3", figures.volume_low_mm3},
                 {"volume_high_mm3", figures.volume_high_mm3},
                 {"vents", figures.vents},
                 {"trapped_mm3", figures.trapped_mm3},
                 {"warnings", figures.warnings}};
    if (figures.pour) {
        json["pour"] = json_of(*figures.pour);
    }
    return json;
}

ScanFigures parsed_figures(const Json& json) {
    ScanFigures figures{.triangles = json.at("triangles"),
                        .size_mm = json.at("size_mm"),
                        .volume_mm3 = json.at("volume_mm3"),
                        .volume_low_mm3 = json.at("volume_low_mm3"),
                        .volume_high_mm3 = json.at("volume_high_mm3"),
                        .vents = json.at("vents"),
                        .trapped_mm3 = json.at("trapped_mm3"),
                        .warnings = json.at("warnings"),
                        .pour = {}};
    if (json.contains("pour")) {
        figures.pour = parsed_pour(json.at("pour"));
    }
    return figures;
}

ScanEnd parsed_end(const std::string& word) {
    for (const ScanEnd end : {ScanEnd::planned, ScanEnd::stop, ScanEnd::failed}) {
        if (word == to_text(end)) {
            return end;
        }
    }
    throw UnusableInput("The record of a scan ends in a way that this program does not know.");
}

}  // namespace

const char* to_text(ScanEnd end) {
    switch (end) {
        case ScanEnd::planned:
            return "planned";
        case ScanEnd::stop:
            return "stop";
        case ScanEnd::failed:
            return "failed";
    }
    return "";
}

ScanRow scan_row(const Plan& plan) {
    const MeasuresBlock& m = plan.measures;
    const Vec3 size = m.mass.bounds_mm.sizes();
    const auto warns = [](const Finding& f) { return f.severity == Severity::warning; };
    ScanFigures figures{.triangles = plan.input.triangles,
                        .size_mm = {size.x(), size.y(), size.z()},
                        .volume_mm3 = m.mass.volume_mm3,
                        .volume_low_mm3 = m.volume_low_mm3,
                        .volume_high_mm3 = m.volume_high_mm3,
                        .vents = static_cast<int>(plan.air->vents.size()),
                        .trapped_mm3 = plan.air->trapped_vented_mm3,
                        .warnings = static_cast<int>(
                            std::count_if(plan.findings.begin(), plan.findings.end(), warns)),
                        .pour = {}};
    ScanRow row;
    row.end = ScanEnd::planned;
    const auto stop = std::find_if(plan.findings.begin(), plan.findings.end(),
                                   [](const auto& f) { return f.severity == Severity::stop; });
    if (stop != plan.findings.end()) {
        row.end = ScanEnd::stop;
        row.sentence = stop->text;
    } else {
        figures.pour = pour_of(*plan.foam);
    }
    row.figures = figures;
    return row;
}

std::string scan_row_json(const ScanRow& row) {
    Json json = {{"schema", kSchema},
                 {"scan", row.scan},
                 {"folder", row.folder},
                 {"end", to_text(row.end)},
                 {"sentence", rendered(row.sentence)},
                 {"again", row.again},
                 {"options", row.options},
                 {"version", row.version},
                 {"content_sha256", row.content_sha256},
                 {"key", row.key}};
    if (row.figures) {
        json["figures"] = json_of(*row.figures);
    }
    return json.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

ScanRow parse_scan_row(std::string_view json) {
    try {
        const Json row = Json::parse(json);
        if (row.at("schema") != kSchema) {
            throw UnusableInput("The record of a scan is of another version of this program.");
        }
        ScanRow parsed{.scan = row.at("scan"),
                       .folder = row.at("folder"),
                       .end = parsed_end(row.at("end")),
                       .sentence = row.at("sentence"),
                       .again = row.at("again"),
                       .options = row.at("options"),
                       .version = row.at("version"),
                       .content_sha256 = row.at("content_sha256"),
                       .key = row.at("key"),
                       .figures = {}};
        if (row.contains("figures")) {
            parsed.figures = parsed_figures(row.at("figures"));
        }
        return parsed;
    } catch (const Json::exception&) {
        throw UnusableInput("The record of a scan is damaged.");
    }
}

// ---- CSV ----------------------------------------------------------------------------------------

namespace {

// Rounding below a billionth is nobody's figure.
std::string csv_number(double value) {
    return fmt::format("{:.9g}", value);
}

std::string figures_csv(const ScanFigures& f) {
    std::string csv = fmt::format("{}", f.triangles);
    for (const double figure : {f.size_mm[0], f.size_mm[1], f.size_mm[2], f.volume_mm3,
                                f.volume_low_mm3, f.volume_high_mm3}) {
        csv += "," + csv_number(figure);
    }
    csv += fmt::format(",{},{},{}", f.vents, csv_number(f.trapped_mm3), f.warnings);
    if (!f.pour) {
        return csv + ",,,,,,";
    }
    const ScanPour& pour = *f.pour;
    for (const double figure :
         {pour.part_g, pour.molded_kg_m3, pour.part_a_g, pour.part_b_g, pour.pigment_g}) {
        csv += "," + csv_number(figure);
    }
    return csv + fmt::format(",{}", pour.cups);
}

}  // namespace

std::string scan_table_csv(const std::vector<ScanRow>& rows) {
    std::string csv =
        "scan,end,sentence,triangles,size_x_mm,size_y_mm,size_z_mm,volume_mm3,volume_low_mm3,"
        "volume_high_mm3,vents,trapped_mm3,warnings,part_g,molded_kg_m3,part_a_g,part_b_g,"
        "pigment_g,cups,folder,options,version,content_sha256\r\n";
    for (const ScanRow& row : rows) {
        csv +=
            csv_field(row.scan) + "," + to_text(row.end) + "," + csv_field(rendered(row.sentence));
        csv += "," + (row.figures ? figures_csv(*row.figures) : std::string(15, ','));
        csv += "," + csv_field(row.folder) + "," + csv_field(row.options) + "," +
               csv_field(row.version) + "," + row.content_sha256 + "\r\n";
    }
    return csv;
}

// ---- HTML ---------------------------------------------------------------------------------------

namespace {

// The pour sheet's paper, ink and one color; dark follows the system, print is black on white.
constexpr const char* kStyle =
    ":root { --paper: #f6f4ee; --sheet: #fff; --ink: #1c1b19; --soft: #55524b; --line: #8b867b; "
    "--mark: #0f5f5c; --wrong: #9c1c10; font-family: system-ui, sans-serif; line-height: 1.4; }\n"
    "@media screen and (prefers-color-scheme: dark) { :root { --paper: #191917; --sheet: #242421; "
    "--ink: #f1efe8; --soft: #c2beb3; --line: #8f8b80; --mark: #7fd3cd; --wrong: #ff9d8f; } }\n"
    "* { box-sizing: border-box; }\n"
    "body { margin: 0 auto; max-width: 84rem; padding: 0 1rem 2rem; background: var(--paper); "
    "color: var(--ink); }\n"
    "h1 { margin: 0; font-size: 1.5rem; padding: 1rem 0 .6rem; border-bottom: 4px double "
    "var(--ink); }\n"
    "p { margin: .4rem 0; }\n"
    ".counts { font-size: 1.3rem; font-weight: 700; }\n"
    ".soft { color: var(--soft); }\n"
    "a { color: var(--mark); overflow-wrap: anywhere; }\n"
    ".wide { overflow-x: auto; }\n"
    "table { border-collapse: collapse; width: 100%; margin: 1rem 0; background: var(--sheet); }\n"
    "caption { text-align: left; color: var(--soft); padding: 0 0 .4rem; }\n"
    "th, td { border: 1px solid var(--line); padding: .35rem .6rem; text-align: left; "
    "vertical-align: top; }\n"
    "thead th { border-bottom: 3px solid var(--ink); }\n"
    "tbody th { font-weight: 600; min-width: 12rem; }\n"
    ".number { text-align: right; white-space: nowrap; font-variant-numeric: tabular-nums; }\n"
    ".grams { font-weight: 800; font-size: 1.15rem; }\n"
    ".path { display: block; color: var(--soft); font-size: .8rem; font-weight: 400; "
    "overflow-wrap: anywhere; }\n"
    ".failed .end, .stop .end { color: var(--wrong); font-weight: 700; }\n"
    ".failed th, .stop th { border-left: 6px solid var(--wrong); }\n"
    ".caution { border: 2px solid var(--ink); padding: .4rem .8rem; background: var(--sheet); }\n"
    ".caution ul { margin: .3rem 0; padding-left: 1.2rem; }\n"
    "@media print { body { max-width: none; } .wide { overflow: visible; } tr { break-inside: "
    "avoid; } }\n";

// Folder names are made of letters, digits and marks that may stand in an address; what lies above
// them may be anything.
std::string address(std::string_view path) {
    std::string safe;
    for (const char c : path) {
        const auto byte = static_cast<unsigned char>(c);
        const bool plain = (byte >= '0' && byte <= '9') || (byte >= 'A' && byte <= 'Z') ||
                           (byte >= 'a' && byte <= 'z') ||
                           std::string_view("-._~/").find(c) != std::string_view::npos;
        safe += plain ? std::string(1, c) : fmt::format("%{:02X}", byte);
    }
    return safe;
}

std::string number_cell(const std::string& text, const char* more = "") {
    return fmt::format("<td class=\"number{}\">{}</td>", more, xml_text(text));
}

std::string pour_cells(const ScanPour& pour, UnitSystem first) {
    const auto weight = [&](double g) {
        return scale_text(g, pour.scale_readability_g, pour.scale_in_ounces) +
               (pour.cups > 1 ? fmt::format(" in each of {} cups", pour.cups) : "");
    };
    return number_cell(weight(pour.part_a_g), " grams") +
           number_cell(weight(pour.part_b_g), " grams") +
           number_cell(rendered(told_own(pour.part_g, Kind::mass, 3), first)) +
           number_cell(rendered(told_own(pour.molded_kg_m3, Kind::density, 3), first));
}

std::string figure_cells(const ScanFigures& f, UnitSystem first) {
    const auto side = [&](std::size_t i, Telling telling) {
        return told(f.size_mm[i], Kind::length, 4, telling);
    };
    const std::string size = side(0, Telling::number) + " x " + side(1, Telling::number) + " x " +
                             side(2, Telling::single);
    return number_cell(rendered(size, first)) +
           number_cell(rendered(told_own(f.volume_mm3, Kind::volume, 3), first)) +
           number_cell(fmt::format("{}", f.vents)) + number_cell(fmt::format("{}", f.warnings));
}

// What a person does with it: opens the sheet, or reads what is wrong.
std::string row_html(const ScanRow& row, UnitSystem first) {
    const std::size_t slash = row.scan.rfind('/');
    const std::string name = slash == std::string::npos ? row.scan : row.scan.substr(slash + 1);
    std::string html = fmt::format("<tr class=\"{}\"><th scope=\"row\">", to_text(row.end));
    html += row.figures ? fmt::format("<a href=\"{}/pour_sheet.html\">{}</a>", address(row.folder),
                                      xml_text(name))
                        : xml_text(name);
    html += "<span class=\"path\">" + xml_text(row.scan) + "</span></th>";
    if (row.figures && row.figures->pour) {
        html += "<td class=\"end\">planned</td>" + pour_cells(*row.figures->pour, first);
    } else {
        html += fmt::format("<td class=\"end\">{}</td><td colspan=\"{}\">{}</td>",
                            row.end == ScanEnd::failed ? "failed" : "attention first",
                            row.figures ? 4 : 8, xml_text(rendered(row.sentence, first)));
    }
    return html + (row.figures ? figure_cells(*row.figures, first) : "") + "</tr>\n";
}

// Rows of different options or versions are no one table's figures.
std::string made_with(const std::vector<ScanRow>& rows) {
    std::set<std::string> ways;
    for (const ScanRow& row : rows) {
        ways.insert("cavigram " + row.version + (row.options.empty() ? "" : ", " + row.options));
    }
    if (ways.size() == 1) {
        return "<p class=\"soft\">Made with " + xml_text(*ways.begin()) + ".</p>\n";
    }
    return ways.empty() ? ""
                        : fmt::format(
                              "<p class=\"stop\"><strong class=\"end\">These rows were "
                              "made in {} different ways</strong> (options or version of "
                              "the program): the column \"options\" of table.csv tells "
                              "which is which.</p>\n",
                              ways.size());
}

std::string cautions_html() {
    std::string html =
        "<div class=\"caution\"><strong>Before anything is poured</strong>, open the part's own "
        "pour sheet: it has the window, the clock, the warnings and how far the grams can be "
        "trusted.<ul>";
    for (const std::string& caution : pouring_cautions()) {
        html += "<li>" + xml_text(caution) + "</li>";
    }
    return html + "</ul></div>\n";
}

}  // namespace

std::string scan_table_html(const std::vector<ScanRow>& rows, UnitSystem first) {
    std::vector<const ScanRow*> shown;
    for (const ScanEnd end : {ScanEnd::failed, ScanEnd::stop, ScanEnd::planned}) {
        for (const ScanRow& row : rows) {
            if (row.end == end && shown.size() < kMostShownRows) {
                shown.push_back(&row);
            }
        }
    }
    std::string html =
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\n<meta "
        "name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>Scans</title>"
        "\n<style>\n";
    html += kStyle;
    html += "</style></head><body>\n<h1>Scans</h1>\n<p class=\"counts\">" +
            xml_text(scan_counts_text(rows)) + ".</p>\n" + made_with(rows) + cautions_html();
    html += "<div class=\"wide\" tabindex=\"0\"><table>\n<caption>";
    html += shown.size() < rows.size()
                ? fmt::format(
                      "The first {} rows; all {} are in <a href=\"table.csv\">table.csv"
                      "</a>.",
                      thousands(shown.size()), thousands(rows.size()))
                : "A and B are what goes into a cup, as your scale shows it. Also as <a "
                  "href=\"table.csv\">table.csv</a>.";
    html +=
        "</caption>\n<thead><tr><th scope=\"col\">Scan</th><th scope=\"col\">End</th><th "
        "scope=\"col\" class=\"number\">A</th><th scope=\"col\" class=\"number\">B</th><th "
        "scope=\"col\" class=\"number\">Part</th><th scope=\"col\" class=\"number\">Density</th>"
        "<th scope=\"col\" class=\"number\">Size</th><th scope=\"col\" class=\"number\">Volume"
        "</th><th scope=\"col\" class=\"number\">Vents</th><th scope=\"col\" class=\"number\">"
        "Warnings</th></tr></thead>\n<tbody>\n";
    for (const ScanRow* row : shown) {
        html += row_html(*row, first);
    }
    return html + "</tbody></table></div>\n</body></html>\n";
}

std::string scan_counts_text(const std::vector<ScanRow>& rows) {
    const auto count = [&](ScanEnd end) {
        return static_cast<std::size_t>(std::count_if(
            rows.begin(), rows.end(), [&](const ScanRow& row) { return row.end == end; }));
    };
    std::string text = thousands(rows.size()) + (rows.size() == 1 ? " scan: " : " scans: ") +
                       thousands(count(ScanEnd::planned)) + " planned";
    if (const std::size_t stops = count(ScanEnd::stop); stops > 0) {
        text += ", " + thousands(stops) + (stops == 1 ? " needs" : " need") + " attention first";
    }
    if (const std::size_t failed = count(ScanEnd::failed); failed > 0) {
        text += ", " + thousands(failed) + " failed";
    }
    return text;
}

}  // namespace cavigram
