// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/air_rows_detail.h"
#include "cavigram/report/bench_rows_detail.h"
#include "cavigram/report/foam_rows_detail.h"
#include "cavigram/report/page_detail.h"
#include "cavigram/report/thin_rows_detail.h"

namespace cavigram {

namespace {

constexpr double kInch_mm = 25.4;

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

void findings(Page& page, const Plan& plan) {
    for (const Finding& finding : plan.findings) {
        const char* const word = finding.severity == Severity::note      ? "Note"
                                 : finding.severity == Severity::warning ? "Warning"
                                                                         : "Stop";
        page.row(word, finding.text);
    }
}

void faults(Page& page, const Plan& plan) {
    bool first = true;
    for (const Fault& fault : plan.part->faults()) {
        std::string kind = fault.kind;
        std::replace(kind.begin(), kind.end(), '_', ' ');
        std::string text = kind + ": " + thousands(fault.count);
        if (fault.kind == "noise") {
            text = "noise of about " + length_text(fault.sizes_mm.front()) + " at each vertex";
        } else if (!fault.sizes_mm.empty()) {
            const double largest = *std::max_element(fault.sizes_mm.begin(), fault.sizes_mm.end());
            text += std::string(fault.kind == "spike" ? ", the highest " : ", the longest rim ") +
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
        std::string words = step.action;
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

void measures(Page& page, const Plan& plan) {
    const MeasuresBlock& m = plan.measures;
    const Vec3 size = m.mass.bounds_mm.sizes();
    const auto sides = [&](const char* unit, double per_unit, int digits) {
        return significant(size.x() / per_unit, digits) + " x " +
               significant(size.y() / per_unit, digits) + " x " +
               significant(size.z() / per_unit, digits) + " " + unit;
    };
    page.row("Size", sides("mm", 1.0, 4) + " (" + sides("in", kInch_mm, 3) + ")");
    std::string volume = volume_text(m.mass.volume_mm3);
    if (m.volume_high_mm3 > m.volume_low_mm3) {
        volume += ", likely " + told_end(m.volume_low_mm3, Kind::volume, 4) + " to " +
                  told_own(m.volume_high_mm3, Kind::volume, 4);
    } else {
        volume += ", exact for this mesh";
    }
    page.row("Volume", volume);
    page.row("Area", area_text(m.mass.area_mm2));
    std::string shape = plural(static_cast<std::size_t>(m.shells), "shell", "shells");
    if (m.genus > 0) {
        shape +=
            ", " + plural(static_cast<std::size_t>(m.genus), "hole through it", "holes through it");
    }
    page.row("Shape", shape);
}

void orientation_rows(Page& page, const Plan& plan) {
    const Orientations& found = *plan.orientations;
    for (const RankedWayUp& row : found.rows) {
        const Vec3& up = row.value.up;
        std::string words;
        for (const std::string& reason : row.reasons) {
            words += (words.empty() ? "" : "; ") + reason;
        }
        page.row(row.rank == 1 ? "BEST UP" : "",
                 fmt::format("{}. {:.3f},{:.3f},{:.3f}{}: {}", row.rank, up.x() + 0.0, up.y() + 0.0,
                             up.z() + 0.0,
                             !row.asked      ? ""
                             : plan.up_given ? " (as asked)"
                                             : " (as the file stands)",
                             words));
        page.more(row.lean_deg > 0.0 ? fmt::format("may lean {:g} degree{} before more air stays",
                                                   row.lean_deg, row.lean_deg == 1.0 ? "" : "s")
                                     : std::string("a lean of 1 degree already leaves more air"));
    }
    page.row("Search",
             plural(found.looked_at, "position", "positions") + " on " +
                 plural(found.proxy_triangles, "triangle", "triangles") +
                 (found.proxy_deviation_mm > 0.0
                      ? " (" + told_own(found.proxy_deviation_mm, Kind::length, 2) + " off at most)"
                      : std::string()) +
                 ", those listed on the full mesh; up to " +
                 told_own(found.limit_mm3, Kind::volume, 2) + " needs no vent");
    page.row("Rests on",
             fmt::format("the part's shape, up to {}, and the pour hole {}; the foam, how "
                         "dense it is and the temperature change nothing here",
                         plural(found.most_vents, "vent", "vents"),
                         found.pour_hole_after == PourHoleAfter::vented    ? "left open as a vent"
                         : found.pour_hole_after == PourHoleAfter::plugged ? "plugged"
                                                                           : "left out"));
}

void checklist(Page& page, const Plan& plan) {
    const Batch& b = plan.foam->batch;
    const double step = b.scale_readability_g;
    std::vector<std::string> items = {
        "Mold clean, released, dry; halves and straps at hand; vents open; gloves, eyes, "
        "ventilation.",
        "Mold and liquids at " + told_own(plan.bench->temperature_c, Kind::temperature, 3) +
            "; a warm mold and a small opening give a better skin.",
        "Weigh B: " + scale_grams(b.part_b_g, step) + " g into a cup of " +
            fmt::format("{:.0f}", b.cup_ml) + " mL or more."};
    if (b.pigment_g > 0.0) {
        items.push_back("Stir " + scale_grams(b.pigment_g, std::min(step, 0.1)) +
                        " g of pigment into B until even.");
    }
    items.push_back("Weigh A: " + scale_grams(b.part_a_g, step) + " g apart.");
    items.push_back("A into B, start the clock, stir for " + significant(plan.bench->mix_s, 2) +
                    " s, scrape walls and floor.");
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
    page.line();
    for (std::size_t i = 0; i < plan.cautions.size(); ++i) {
        page.row(i == 0 ? "Caution" : "", plan.cautions[i]);
    }
}

}  // namespace

std::string inspect_text(const Plan& plan) {
    Page page;
    heading(page, plan);
    faults(page, plan);
    mending(page, plan);
    measures(page, plan);
    findings(page, plan);
    return page.text();
}

std::string thin_text(const Plan& plan) {
    Page page;
    heading(page, plan);
    thin_rows(page, plan);
    findings(page, plan);
    return page.text();
}

std::string weigh_text(const Plan& plan) {
    Page page;
    heading(page, plan);
    grams_rows(page, plan);
    page.line();
    foam_rows(page, plan);
    measures(page, plan);
    findings(page, plan);
    guess_rows(page, plan);
    cautions(page, plan);
    return page.text();
}

std::string vent_text(const Plan& plan) {
    Page page;
    heading(page, plan);
    air_rows(page, plan);
    findings(page, plan);
    cautions(page, plan);
    return page.text();
}

std::string orient_text(const Plan& plan) {
    Page page;
    heading(page, plan);
    orientation_rows(page, plan);
    findings(page, plan);
    cautions(page, plan);
    return page.text();
}

std::string bench_text(const Plan& plan) {
    Page page;
    heading(page, plan);
    grams_rows(page, plan);
    page.line();
    bench_rows(page, *plan.bench);
    page.line();
    checklist(page, plan);
    page.line();
    findings(page, plan);
    guess_rows(page, plan);
    cautions(page, plan);
    return page.text();
}

std::string summary_text(const Plan& plan) {
    Page page;
    heading(page, plan);
    grams_rows(page, plan);
    page.line();
    foam_rows(page, plan);
    page.line();
    mending(page, plan);
    measures(page, plan);
    page.line();
    thin_rows(page, plan);
    page.line();
    air_rows(page, plan);
    page.line();
    if (plan.orientations) {
        orientation_rows(page, plan);
        page.line();
    }
    if (plan.bench) {
        bench_rows(page, *plan.bench);
        page.line();
    }
    findings(page, plan);
    guess_rows(page, plan);
    cautions(page, plan);
    return page.text();
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
