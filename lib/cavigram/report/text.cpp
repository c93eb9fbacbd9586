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
#include "cavigram/report/planned_way_detail.h"
#include "cavigram/report/rise_rows_detail.h"
#include "cavigram/report/split_rows_detail.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/report/thin_rows_detail.h"

namespace cavigram {

namespace {

std::string plural(std::size_t count, const char* one, const char* many) {
    return thousands(count) + " " + (count == 1 ? one : many);
}

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

void faults(Page& page, const Plan& plan) {
    bool first = true;
    for (const Fault& fault : plan.part->faults()) {
        std::string kind = to_text(fault.kind);
        std::replace(kind.begin(), kind.end(), '_', ' ');
        std::string text = kind + ": " + thousands(fault.count);
        if (fault.kind == FaultKind::noise) {
            text = "noise of about " + length_text(fault.sizes_mm.front()) + " at each vertex";
        } else if (!fault.sizes_mm.empty()) {
            const double largest = *std::max_element(fault.sizes_mm.begin(), fault.sizes_mm.end());
            text += std::string(fault.kind == FaultKind::spike ? ", the highest "
                                                               : ", the longest rim ") +
                    significant(largest, 3) + " mm";
        }
        if (!fault.places_mm.empty()) {
            const auto& p = fault.places_mm.front();
            text += ", first at " + place_text(p[0], p[1], p[2]);
        }
        if (first) {
            page.row("Faults", text);
        } else {
            page.more(text);
        }
        first = false;
    }
}

void mending(Page& page, const Plan& plan) {
    const Part& part = *plan.part;
    if (part.verdict() == Verdict::sound) {
        page.row("File",
                 std::string("sound: closed, and every face looks outward; nothing was changed") +
                     (part.crossings().empty() ? "" : ", though it crosses itself"));
        return;
    }
    page.row("File", std::string(to_text(part.verdict())) + "; what was done:");
    for (const RepairStep& step : part.steps()) {
        std::string words = to_text(step.action);
        std::replace(words.begin(), words.end(), '_', ' ');
        std::string text = words + ": " + thousands(step.count);
        if (step.volume_below_mm3 + step.volume_above_mm3 > 0.0) {
            text += ", volume by " + told_own(step.volume_change_mm3, Kind::volume, 2) +
                    ", could be " + told_end(step.volume_below_mm3, Kind::volume, 2) + " less or " +
                    told_end(step.volume_above_mm3, Kind::volume, 2) + " more";
        }
        if (!step.places_mm.empty()) {
            const auto& p = step.places_mm.front();
            text += ", first at " + place_text(p[0], p[1], p[2]);
        }
        page.more("- " + text);
    }
}

void area_and_shape(Page& page, const Plan& plan, bool is_detail) {
    const MeasuresBlock& m = plan.measures;
    std::string shape = plural(static_cast<std::size_t>(m.shells), "shell", "shells");
    if (m.genus > 0) {
        shape +=
            ", " + plural(static_cast<std::size_t>(m.genus), "hole through it", "holes through it");
    }
    page.add("Area", area_text(m.mass.area_mm2), is_detail);
    page.add("Shape", shape, is_detail);
}

void size_and_volume(Page& page, const Plan& plan) {
    const MeasuresBlock& m = plan.measures;
    const Vec3 size = m.mass.bounds_mm.sizes();
    const auto sides = [&](int digits, Telling number, Telling single) {
        return told(size.x(), Kind::length, digits, number) + " x " +
               told(size.y(), Kind::length, digits, number) + " x " +
               told(size.z(), Kind::length, digits, single);
    };
    page.row("Size", sides(4, Telling::number, Telling::single) + " (" +
                         sides(3, Telling::other_number, Telling::other_single) + ")");
    std::string volume = volume_text(m.mass.volume_mm3);
    if (m.volume_high_mm3 > m.volume_low_mm3) {
        constexpr double kNothing = 1e-3;  // of the largest
        volume += ", likely " +
                  (m.volume_low_mm3 < kNothing * m.volume_high_mm3
                       ? std::string("next to nothing")
                       : told_end(m.volume_low_mm3, Kind::volume, 4)) +
                  " to " + told_own(m.volume_high_mm3, Kind::volume, 4);
    } else {
        volume += ", exact for this mesh";
    }
    page.row("Volume", volume);
}

// Air too little to matter is not spelled out.
std::string air_cell(double mm3) {
    constexpr double kNothing_mm3 = 1.0;
    return mm3 == 0.0           ? "none"
           : mm3 < kNothing_mm3 ? "under " + told_own(kNothing_mm3, Kind::volume, 1)
                                : told_own(mm3, Kind::volume, 2);
}

// In few letters, so that the table stays narrow.
std::string way_cell(const Vec3& up) {
    std::string words = up_text(up.x(), up.y(), up.z());
    const std::string_view long_words = " degrees toward ";
    const std::size_t at = words.find(long_words);
    return at == std::string::npos ? words : words.replace(at, long_words.size(), " deg to ");
}

std::string why_text(const RankedWayUp& row) {
    std::string words;
    for (const std::string& reason : row.reasons) {
        words += (words.empty() ? "" : "; ") + reason;
    }
    return words;
}

void orientation_table(Page& page, const Plan& plan, bool is_detail) {
    page.cells("", {"", "Way up", "Air left", "Vents", "Leaning 3 deg", "Height", "May lean"},
               is_detail);
    const RankedWayUp* const planned = &planned_way(plan);
    for (const RankedWayUp& row : plan.orientations->rows) {
        const WayUp& way = row.value;
        const char* const whose = !row.asked      ? ""
                                  : plan.up_given ? " (as asked)"
                                                  : " (as the file stands)";
        page.cells(
            &row != planned ? ""
            : row.rank == 1 ? "BEST UP"
                            : "PLANNED",
            {fmt::format("{}.", row.rank), way_cell(way.up) + whose, air_cell(way.vented_mm3),
             way.vents_made == 0 ? "none" : fmt::format("{}", way.vents_made),
             air_cell(way.worst_vented_mm3), told_own(way.height_mm, Kind::length, 3),
             fmt::format("{:g} deg", row.lean_deg)},
            is_detail);
    }
}

void way_up_row(Page& page, const Plan& plan) {
    const RankedWayUp& planned = planned_way(plan);
    const bool with_pull =
        planned.rank != 1 && !plan.up_given && plan.split && plan.split->together;
    page.row("Why so",
             why_text(planned) + (with_pull ? "; chosen with the pull: " + plan.split->together->why
                                            : std::string()));
}

void orientation_rest(Page& page, const Orientations& found) {
    for (const RankedWayUp& row : found.rows) {
        const Vec3& up = row.value.up;
        page.detail(row.rank == 1 ? "Ways up" : "",
                    fmt::format("{}. {} {:.3f},{:.3f},{:.3f}: {}", row.rank, setting("up"),
                                up.x() + 0.0, up.y() + 0.0, up.z() + 0.0, why_text(row)));
    }
    page.detail("Search", plural(found.looked_at, "position", "positions") + " on " +
                              plural(found.proxy_triangles, "triangle", "triangles") +
                              (found.proxy_deviation_mm > 0.0
                                   ? " (" + told_own(found.proxy_deviation_mm, Kind::length, 2) +
                                         " off at most)"
                                   : std::string()) +
                              ", those listed on the full mesh; up to " +
                              told_own(found.limit_mm3, Kind::volume, 2) + " needs no vent");
    page.detail(
        "Rests on",
        fmt::format("the part's shape, up to {}, as wide as such a foam needs, and the pour "
                    "hole {}",
                    plural(found.most_vents, "vent", "vents"),
                    found.pour_hole_after == PourHoleAfter::vented    ? "left open as a vent"
                    : found.pour_hole_after == PourHoleAfter::plugged ? "plugged"
                                                                      : "left out"));
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

void file_rows(Page& page, const Plan& plan) {
    mending(page, plan);
    size_and_volume(page, plan);
    area_and_shape(page, plan, false);
}

std::string inspect_text(const Plan& plan, const TextStyle& style) {
    Page page;
    heading(page, plan);
    faults(page, plan);
    mending(page, plan);
    size_and_volume(page, plan);
    area_and_shape(page, plan, false);
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
    size_and_volume(page, plan);
    area_and_shape(page, plan, true);
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
    orientation_table(page, plan, false);
    way_up_row(page, plan);
    orientation_rest(page, *plan.orientations);
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
    mending(page, plan);
    size_and_volume(page, plan);
    area_and_shape(page, plan, true);
    thin_rows(page, plan);
    page.line();
    air_rows(page, plan);
    if (plan.orientations) {
        way_up_row(page, plan);
        orientation_table(page, plan, true);
        orientation_rest(page, *plan.orientations);
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
    size_and_volume(page, plan);
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
