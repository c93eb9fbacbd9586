// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include <algorithm>
#include <sstream>
#include <utility>

#include <doctest/doctest.h>

#include "support/kept_plan.h"

using namespace cavigram;

namespace {

const Plan& planned() {
    static const Plan plan = [] {
        PlanRequest request;
        request.part.file = "sample_meshes/figurehead_scan.obj";
        request.part.units = parse_length_unit("mm");
        request.foam.pigment_share = 0.03;
        request.foam.copies = 4;
        return kept_plan(request,
                         {.thin = true, .foam = true, .density = true, .air = true, .bench = true});
    }();
    return plan;
}

void check_form(const std::string& text) {
    CHECK(text.back() == '\n');
    std::istringstream lines(text);
    for (std::string line; std::getline(lines, line);) {
        CHECK_MESSAGE(line.size() <= 100, line);
        for (const char c : line) {
            REQUIRE((c >= ' ' && c <= '~'));
        }
    }
}

std::ptrdiff_t lines_of(const std::string& text) {
    return std::count(text.begin(), text.end(), '\n');
}

}  // namespace

TEST_CASE("a page is as narrow as it is asked to be, and loses no word by it") {
    const auto words = [](const std::string& text) {
        std::istringstream stream(text);
        std::string all;
        for (std::string word; stream >> word;) {
            all += word + " ";
        }
        return all;
    };
    for (const std::size_t columns : {60U, 80U, 100U}) {
        CAPTURE(columns);
        for (const auto& text : {summary_text, inspect_text, thin_text, vent_text}) {
            const std::string page = text(planned(), {.columns = columns});
            std::istringstream lines(page.substr(0, page.find("Log what comes out")));
            for (std::string line; std::getline(lines, line);) {
                CHECK_MESSAGE(line.size() <= columns, line);
            }
            CHECK(words(page) == words(text(planned(), {})));
        }
    }
}

TEST_CASE("on a terminal the grams stand last, once") {
    for (const auto& text : {summary_text, weigh_text, bench_text}) {
        const std::string first = text(planned(), {});
        const std::string last = text(planned(), {.pour_last = true});
        CHECK(first.find("\nPOUR ") < first.size() / 4);
        CHECK(last.find("\nPOUR ") > last.rfind("Caution "));
        CHECK(last.find("\nPOUR ") == last.rfind("\nPOUR "));
    }
}

TEST_CASE("every page is plain and narrow, and says what it must") {
    const std::string summary = summary_text(planned(), {.detail = true});
    check_form(summary);
    for (const char* words : {"POUR", " g     B  ", "pigment", "likely", "Skin", "Core", "Rests on",
                              "Volume", "close holes", "Thin", "Air", "Clock", "Open after",
                              "Caution", "for each of 4 cups", "lb/ft3", "in3"}) {
        CHECK_MESSAGE(summary.find(words) != std::string::npos, words);
    }
    check_form(summary_text(planned()));
    check_form(inspect_text(planned()));
    check_form(thin_text(planned()));
    check_form(weigh_text(planned()));
    check_form(vent_text(planned()));
    check_form(bench_text(planned()));
    for (const char* words :
         {"poured by", "Spare", "foam at the highest vent", "it presses most"}) {
        CHECK_MESSAGE(bench_text(planned()).find(words) != std::string::npos, words);
    }
    // What one acts on fits a screen; everything else is there for the asking.
    CHECK(lines_of(summary_text(planned())) <= 60);
    CHECK(lines_of(summary) > 80);
    CHECK(summary.find("warmer") == std::string::npos);
    // docs/checks.md T3: advice in words, common practice, no source; never as a remedy for haste.
    CHECK(bench_text(planned()).find("a warm mold and a small opening give a better skin") !=
          std::string::npos);
    check_form(foam_list_text());
    check_form(foam_card_text(load_card("generic-soft")));
}

TEST_CASE("a narrow terminal gets narrow lines, and other units the other system first") {
    // The line to copy has breaks of its own.
    const std::string whole = weigh_text(planned(), {.detail = true, .columns = 60});
    std::istringstream lines(whole.substr(0, whole.find("Log what comes out")));
    for (std::string line; std::getline(lines, line);) {
        if (line.find("POUR") == std::string::npos) {  // its figures stand together
            CHECK_MESSAGE(line.size() <= 60, line);
        }
    }
    const std::string us = weigh_text(planned(), {.first = UnitSystem::us});
    CHECK(us.find(" in (") != std::string::npos);
    CHECK(us.find(" mm (") == std::string::npos);
    CHECK(us.find("lb/ft3 (") != std::string::npos);
    CHECK(us.find("kg/m3 (") == std::string::npos);
}

TEST_CASE("what weigh prints is for acting: 25 lines at most, warnings included") {
    for (const auto& [file, unit] :
         {std::pair("mooring_cleat.stl", "mm"), std::pair("figurehead_scan.obj", "mm"),
          std::pair("rope_coil_inches.stl", "in"), std::pair("ships_bell.ply", "mm")}) {
        PlanRequest request;
        request.part.file = std::string("sample_meshes/") + file;
        request.part.units = parse_length_unit(unit);
        const Plan plan = kept_plan(request, {.foam = true, .density = true});
        CHECK_MESSAGE(lines_of(weigh_text(plan)) <= 25, file);
    }
}

TEST_CASE("what mold prints is for acting: 25 lines at most; in the summary it is in short") {
    for (const MoldKind kind : {MoldKind::box, MoldKind::brushed, MoldKind::jacketed}) {
        CAPTURE(to_text(kind));
        PlanRequest request;
        request.part.file = "sample_meshes/mooring_cleat.stl";
        request.part.units = parse_length_unit("mm");
        request.mold.kind = kind;
        const Plan plan = kept_plan(request, {.foam = true, .air = true, .mold = true});
        const std::string text = mold_text(plan);
        check_form(text);
        check_form(mold_text(plan, {.detail = true}));
        INFO(text);
        CHECK(lines_of(text) <= 25);
        CHECK(text.find("Rubber ") != std::string::npos);
        CHECK(text.find("Straps ") != std::string::npos);
        CHECK((text.find("Jacket ") != std::string::npos) == (kind != MoldKind::box));
        CHECK((text.find("long walls") != std::string::npos) == (kind == MoldKind::box));
        CHECK((text.find("coats") != std::string::npos) == (kind == MoldKind::brushed));
        CHECK(text.find("plaster burns") != std::string::npos);
        const std::string us = mold_text(plan, {.first = UnitSystem::us});
        CHECK(us.find(" mm (") == std::string::npos);
        CHECK(us.find(" g (") == std::string::npos);
    }
}
