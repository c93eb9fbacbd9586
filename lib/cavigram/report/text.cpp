// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/air_rows_detail.h"
#include "cavigram/report/bench_rows_detail.h"
#include "cavigram/report/file_rows_detail.h"
#include "cavigram/report/foam_rows_detail.h"
#include "cavigram/report/handle_rows_detail.h"
#include "cavigram/report/mold_rows_detail.h"
#include "cavigram/report/page_detail.h"
#include "cavigram/report/rise_rows_detail.h"
#include "cavigram/report/split_rows_detail.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/report/thin_rows_detail.h"
#include "cavigram/report/way_rows_detail.h"

namespace cavigram {

namespace {

void heading(Page& page, const Plan& plan) {
    const InputBlock& input = plan.input;
    const char* const why = input.units_source == "assumed"   ? "millimeters assumed"
                            : input.units_source == "longest" ? "scaled to the longest side"
                            : input.units_source == "file"    ? "unit as the file states"
                                                              : "unit as asked";
    page.line(input.file + ": " + plural(input.triangles, "triangle", "triangles") + ", " +
              (input.units == "any" ? "" : input.units + ", ") + why);
    page.line();
}

// What concerns the weighing of A and B only.
bool about_the_cup(const Finding& finding) {
    const auto codes = {FindingCode("batch_too_small_for_scale"),
                        FindingCode("pigment_below_scale"),
                        FindingCode("residue_matters"),
                        FindingCode("scale_too_coarse"),
                        FindingCode("several_cups"),
                        FindingCode("too_much_at_once")};
    return std::find(codes.begin(), codes.end(), finding.code) != codes.end();
}

// And what concerns the pour itself.
bool about_the_pour(const Finding& finding) {
    const auto codes = {FindingCode("hold_while_turning"), FindingCode("little_time"),
                        FindingCode("mold_temperature"), FindingCode("pour_hole_narrow")};
    return about_the_cup(finding) ||
           std::find(codes.begin(), codes.end(), finding.code) != codes.end();
}

bool about_nothing(const Finding&) {
    return false;
}

void findings(Page& page, const Plan& plan, bool (*left_out)(const Finding&) = about_nothing) {
    const auto of = [&](Severity severity, const char* word) {
        for (const Finding& finding : plan.findings) {
            if (finding.severity == severity && !left_out(finding)) {
                page.row(word, finding.text);
            }
        }
    };
    of(Severity::stop, "Stop");
    of(Severity::warning, "Warning");
    of(Severity::note, "Note");
}

void checklist(Page& page, const Plan& plan) {
    const Batch& b = plan.foam->batch;
    const double step = b.scale_readability_g;
    const auto weight = [&](double g) { return scale_text(g, step, b.scale_in_ounces); };
    const int cups = b.cups_each;
    std::vector<std::string> items = {
        "Mold clean, released, dry; halves and straps at hand; vents open; gloves, eyes, "
        "ventilation.",
        "Mold and liquids at " + told_own(plan.bench->temperature_c, Kind::temperature, 3) +
            "; a warm mold and a small opening give a better skin.",
        "Weigh B: " + weight(b.part_b_g) + " into " +
            (cups > 1 ? fmt::format("each of {} cups", cups) : std::string("a cup")) + " of " +
            fmt::format("{:.0f}", b.cup_ml) + " mL or more."};
    if (b.pigment_g > 0.0) {
        items.push_back("Stir " + scale_grams(b.pigment_g, std::min(step, 0.1)) +
                        " g of pigment into B until even.");
    }
    items.push_back("Weigh A: " + weight(b.part_a_g) +
                    (cups > 1 ? " for each, apart." : " apart."));
    items.push_back("A into B, start the clock, stir for " +
                    significant(plan.bench->request.times.stir_s, 2) +
                    " s, scrape walls and floor.");
    if (cups > 1) {
        items.push_back(
            (cups == 2 ? std::string("Cup 2 is") : fmt::format("Cups 2 to {} are", cups)) +
            " stirred and poured right after the one before, by the clock above.");
    }
    items.push_back(std::string("Pour ") + method_words(plan.bench->method) + ".");
    if (plan.bench->method == PourMethod::through_hole) {
        items.push_back(plan.pour_hole_after == PourHoleAfter::plugged
                            ? "Plug the pour hole; the vents stay open."
                            : "Cover the pour hole; the hole drilled through the cover stays open, "
                              "as the vents do.");
    }
    items.push_back("Leave the cup beside the mold, open: it shows when the foam is firm.");
    items.push_back("Weigh what comes out of the mold, and log it: cavigram tally add.");
    for (const std::string& item : items) {
        page.row("[ ]", item);
    }
}

void cautions(Page& page, const Plan& plan) {
    for (std::size_t i = 0; i < plan.cautions.size(); ++i) {
        page.detail(i == 0 ? "Caution" : "", plan.cautions[i]);
    }
    if (plan.bench || !plan.mold) {
        page.brief("Caution",
                   "isocyanates: ventilate, gloves, eye protection; never seal in mixed liquid; "
                   "strap the mold, vents open, face away; safety sheet and local rules come "
                   "first.");
    }
    if (plan.mold) {
        page.brief(
            plan.bench ? "" : "Caution",
            "setting plaster burns: no hand in it; mask and gloves against dust, resin and "
            "hardener; lift by two what is heavy; safety sheets and local rules come first.");
    }
}

void grams_first(Page& page, const Plan& plan, const TextStyle& style) {
    if (!style.pour_last) {
        grams_rows(page, plan);
        page.line();
    }
}

void grams_last(Page& page, const Plan& plan, const TextStyle& style) {
    if (style.pour_last) {
        page.line();
        grams_rows(page, plan);
    }
}

// To copy when the casting is out and weighed.
void log_lines(Page& page, const Plan& plan) {
    const std::string call = log_call(plan);
    if (!call.empty()) {
        page.detail_line("");
        page.detail_line("Log what comes out:");
        page.detail_line("  " + call.substr(0, call.size() - 1));
    }
}

}  // namespace

std::string inspect_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    fault_rows(page, plan);
    mending_rows(page, plan);
    size_and_volume_rows(page, plan);
    area_and_shape_rows(page, plan, false);
    findings(page, plan);
    return page.text(style);
}

std::string thin_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    thin_rows(page, plan);
    findings(page, plan);
    return page.text(style);
}

std::string weigh_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    grams_first(page, plan, style);
    foam_rows(page, plan);
    size_and_volume_rows(page, plan);
    area_and_shape_rows(page, plan, true);
    findings(page, plan);
    guess_rows(page, plan);
    cautions(page, plan);
    log_lines(page, plan);
    grams_last(page, plan, style);
    return page.text(style);
}

std::string vent_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    air_rows(page, plan);
    findings(page, plan);
    cautions(page, plan);
    return page.text(style);
}

std::string orient_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    way_table(page, plan, false);
    way_up_row(page, plan);
    way_search_rows(page, *plan.orientations);
    findings(page, plan);
    cautions(page, plan);
    return page.text(style);
}

std::string split_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    split_rows(page, plan, false);
    findings(page, plan);
    guess_rows(page, plan);
    return page.text(style);
}

std::string bench_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    grams_first(page, plan, style);
    bench_rows(page, plan, false);
    page.line();
    checklist(page, plan);
    page.line();
    findings(page, plan);
    guess_rows(page, plan);
    cautions(page, plan);
    log_lines(page, plan);
    grams_last(page, plan, style);
    return page.text(style);
}

std::string mold_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    mold_rows(page, *plan.mold, false);
    findings(page, plan, about_the_pour);
    guess_rows(page, plan);
    cautions(page, plan);
    return page.text(style);
}

std::string rise_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    if (plan.rise) {
        rise_rows(page, *plan.rise, false);
        rise_tables(page, *plan.rise);
    }
    page.line();
    findings(page, plan);
    guess_rows(page, plan);
    cautions(page, plan);
    return page.text(style);
}

std::string summary_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    grams_first(page, plan, style);
    foam_rows(page, plan);
    page.line();
    mending_rows(page, plan);
    size_and_volume_rows(page, plan);
    area_and_shape_rows(page, plan, true);
    thin_rows(page, plan);
    page.line();
    air_rows(page, plan);
    if (plan.orientations) {
        way_up_row(page, plan);
        way_table(page, plan, true);
        way_search_rows(page, *plan.orientations);
        page.line();
    }
    if (plan.split) {
        split_rows(page, plan, true);
        page.line();
    }
    if (plan.bench) {
        bench_rows(page, plan, true);
        page.line();
    }
    if (plan.mold) {
        mold_rows(page, *plan.mold, true);
        page.line();
    }
    if (plan.handle) {
        handle_rows(page, plan);
        page.line();
    }
    if (plan.rise) {
        rise_rows(page, *plan.rise, true);
        page.line();
    }
    findings(page, plan);
    guess_rows(page, plan);
    cautions(page, plan);
    log_lines(page, plan);
    grams_last(page, plan, style);
    return page.text(style);
}

std::string handle_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    handle_rows(page, plan);
    size_and_volume_rows(page, plan);
    findings(page, plan, about_the_cup);
    guess_rows(page, plan);
    for (std::size_t i = 0; i < plan.cautions.size(); ++i) {
        page.detail(i == 0 ? "Caution" : "", plan.cautions[i]);
    }
    page.brief("Caution",
               "a soft copy can still hurt: trained people, rehearsed moves, local rules "
               "first; rod ends cut square and filed; swings and blows are not in this.");
    return page.text(style);
}

std::string foam_card_text(const FoamCard& card) {
    Page page;
    page.row("Card", card.name + (card.typical ? " (typical values: a guess for your foam)" : ""));
    page.row("Foam", card.family);
    page.row("Source", card.source);
    page.row("Mix", fmt::format("{:g} parts of A to {:g} of B by weight", card.mix.a, card.mix.b));
    const auto range = [](const Ranged& r, const std::string& text) {
        return text + ", likely " + significant(r.low, 3) + " to " + significant(r.high, 3);
    };
    page.row("Density", range(card.density_kg_m3, density_text(card.density_kg_m3.value)) + ", " +
                            to_text(card.basis));
    page.row("Packing",
             fmt::format("{} to {}, usually {} times free rise", significant(card.packing.low, 3),
                         significant(card.packing.high, 3), significant(card.packing.value, 3)));
    page.row("Skin", card.skin_thickness_mm ? range(*card.skin_thickness_mm,
                                                    length_text(card.skin_thickness_mm->value)) +
                                                  ", as measured"
                                            : std::string("as thick as the packing makes it"));
    page.more(range(card.skin_density_kg_m3, density_text(card.skin_density_kg_m3.value)) + ", " +
              to_text(card.skin_profile));
    page.row("Liquids", "A " + significant(card.liquid_a_kg_m3, 4) + " kg/m3, B " +
                            significant(card.liquid_b_kg_m3, 4) + " kg/m3");
    page.row("Times", fmt::format("at {:g} C: work {:g} s, rise {:g} s, demold {:g} to {:g} min",
                                  card.at_c, card.work_time_s, card.rise_time_s,
                                  card.demold_min_s / 60.0, card.demold_max_s / 60.0));
    return page.text();
}

std::string foam_list_text() {
    Page page;
    std::vector<FoamCard> cards;
    for (const BuiltInCard& built_in : built_in_cards()) {
        cards.push_back(parse_card(built_in.toml, built_in.name));
    }
    for (const std::string& own : own_card_names()) {
        cards.push_back(load_card(own));
    }
    for (const FoamCard& card : cards) {
        page.line(fmt::format("{:14} {:g}:{:g}, {}, {}{}", card.name, card.mix.a, card.mix.b,
                              density_text(card.density_kg_m3.value), to_text(card.basis),
                              card.typical ? ", typical values" : ""));
    }
    return page.text();
}

}  // namespace cavigram
