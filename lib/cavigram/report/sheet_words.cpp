// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <functional>
#include <initializer_list>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/plan/cautions.h"
#include "cavigram/report/air_rows_detail.h"
#include "cavigram/report/bench_rows_detail.h"
#include "cavigram/report/file_rows_detail.h"
#include "cavigram/report/foam_rows_detail.h"
#include "cavigram/report/handle_rows_detail.h"
#include "cavigram/report/marks_detail.h"
#include "cavigram/report/mold_rows_detail.h"
#include "cavigram/report/planned_way_detail.h"
#include "cavigram/report/rise_rows_detail.h"
#include "cavigram/report/sheet_words_detail.h"
#include "cavigram/report/split_rows_detail.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/report/thin_rows_detail.h"

namespace cavigram::detail {

namespace {

using Rows = std::vector<PageRow>;

// The rows without those of some labels, each with the rows that go on with it.
Rows without(Rows rows, std::initializer_list<std::string_view> labels) {
    bool left_out = false;
    std::erase_if(rows, [&](const PageRow& row) {
        if (!row.label.empty()) {
            left_out = std::find(labels.begin(), labels.end(), row.label) != labels.end();
        }
        return left_out;
    });
    return rows;
}

Rows rows_of(const std::function<void(Page&, const Plan&)>& tell, const Plan& plan) {
    Page page;
    tell(page, plan);
    // The page has room for everything.
    Rows rows = page.rows();
    // Tables are the terminal's; the page has its own.
    std::erase_if(
        rows, [](const PageRow& row) { return row.when == RowWhen::brief || !row.cells.empty(); });
    return rows;
}

std::vector<SheetLine> lines_of(const Plan& plan) {
    std::vector<SheetLine> lines;
    if (plan.split) {
        for (const std::vector<Vec3>& loop : plan.split->line_mm) {
            lines.push_back({"parting", true, 0.0, loop});
        }
        if (plan.split->found.glove && plan.split->found.glove->slit) {
            lines.push_back({"slit", false, 0.0, plan.split->found.glove->slit->points_mm});
        }
    }
    if (plan.handle && plan.handle->rod) {
        const LaidRod& rod = *plan.handle->rod;
        lines.push_back({"rod", false, rod.rod.diameter_mm, rod.path.corners_mm});
    }
    return lines;
}

std::string coordinates(const Vec3& p) {
    return place_text(p.x(), p.y(), p.z());
}

// In the order of marks_of, so that page, pictures and templates name a hole alike.
std::vector<SheetMark> hole_marks(const Plan& plan) {
    std::vector<SheetMark> marks;
    for (const Mark& mark : marks_of(plan)) {
        SheetMark one{mark.pour_hole ? "pour_hole" : "vent",
                      mark.label,
                      mark.at_mm,
                      mark.diameter_mm,
                      mark.plugged,
                      "",
                      "",
                      "",
                      ""};
        if (mark.pour_hole) {
            const Opening& opening = plan.air->openings[mark.index].opening;
            one.where = plan.air->openings[mark.index].where;
            one.diameter_mm = plan.air->pour_hole_mm;  // the page's clock may choose another method
            one.after = after_words(*plan.air, opening, true);
            one.after_unused = after_words(*plan.air, opening, false);
        } else {
            const SizedVent& vent = plan.air->vents[mark.index];
            one.where = vent.where;
            one.frees = vent.given ? "as given" : told(vent.frees_mm3, Kind::volume);
        }
        marks.push_back(one);
    }
    return marks;
}

std::vector<SheetMark> thin_marks(const Plan& plan) {
    std::vector<SheetMark> marks;
    for (std::size_t i = 0; plan.thin && i < plan.thin->places.size(); ++i) {
        marks.push_back({"thin", letters(i), plan.thin->places[i].region.at_mm, 0.0, false,
                         plan.thin->places[i].where.words, "", "", ""});
    }
    return marks;
}

std::vector<SheetMark> marks_of_way(const Openings& holes) {
    std::vector<SheetMark> marks;
    for (const Vec3& at : holes.pour_holes_mm) {
        const std::string label =
            holes.pour_holes_mm.size() > 1 ? fmt::format("P{}", marks.size() + 1) : "P";
        marks.push_back({"pour_hole", label, at, 0.0, false, coordinates(at), "", "", ""});
    }
    int number = 0;
    for (const Vec3& at : holes.vents_mm) {
        marks.push_back(
            {"vent", fmt::format("{}", ++number), at, 0.0, false, coordinates(at), "", "", ""});
    }
    return marks;
}

std::string up_words(const Vec3& up) {
    return up_text(up.x(), up.y(), up.z());
}

std::vector<SheetWay> ways_of(const Plan& plan) {
    std::vector<SheetWay> ways;
    if (!plan.orientations) {
        return ways;
    }
    for (const RankedWayUp& row : plan.orientations->rows) {
        SheetWay way;
        way.name = fmt::format("{}{}", row.rank,
                               !row.asked      ? ""
                               : plan.up_given ? " (as asked)"
                                               : " (as the file stands)");
        way.up = row.value.up;
        way.planned = plan.air && &row == &planned_way(plan);
        way.about = up_words(row.value.up) + " up, " + length_text(row.value.height_mm) + " high";
        for (std::size_t k = 0; k < row.reasons.size(); ++k) {
            way.about += (k == 0 ? ": " : "; ") + row.reasons[k];
        }
        way.about += "; may lean " + significant(row.lean_deg, 2) + " degrees.";
        way.marks = marks_of_way(row.holes);
        ways.push_back(std::move(way));
    }
    return ways;
}

// The page tells its guesses once, at its end.
std::string without_guess(std::string words) {
    constexpr std::string_view kGuess = " (a guess)";
    for (std::size_t at = words.find(kGuess); at != std::string::npos; at = words.find(kGuess)) {
        words.erase(at, kGuess.size());
    }
    return words;
}

Rows rise_words(const Plan& plan) {
    Rows rows = rows_of([](Page& page, const Plan& p) { rise_rows(page, *p.rise, false); }, plan);
    for (PageRow& row : rows) {
        row.text = without_guess(row.text);
    }
    return rows;
}

// The rise without what lies at each vertex of the surface.
SheetRise rising_of(const RiseBlock& block) {
    constexpr std::size_t kMostMarked = 3;
    const Rise& rise = block.rise;
    SheetRise rising;
    rising.story = without_guess(block.story);
    for (const RiseHoleBlock& hole : block.holes) {
        if (hole.at.reached_s) {
            rising.events.push_back({*hole.at.reached_s, "foam at " + hole.name});
        }
    }
    for (std::size_t i = 0; i < std::min(kMostMarked, rise.last.size()); ++i) {
        const std::string label = fmt::format("L{}", i + 1);
        rising.marks.push_back(
            {"late", label, rise.last[i].at_mm, 0.0, false, block.last_where[i], "", "", ""});
        rising.events.push_back({*rise.last[i].time_s, label + " fills, " + block.last_where[i]});
    }
    for (std::size_t i = 0; i < std::min(kMostMarked, rise.sealed.size()); ++i) {
        const RiseAir& air = rise.sealed[i];
        const std::string label = fmt::format("air {}", i + 1);
        rising.marks.push_back(
            {"air", label, air.at_mm, 0.0, false, block.air_where[i], "", "", ""});
        rising.events.push_back({air.time_s, label + " is cut off, " + block.air_where[i]});
    }
    if (rise.full_s) {
        rising.events.push_back(
            {*rise.full_s, rise.sealed.empty() ? "full" : "full, but for air that is cut off"});
    }
    std::stable_sort(
        rising.events.begin(), rising.events.end(),
        [](const SheetMoment& a, const SheetMoment& b) { return a.time_s < b.time_s; });
    return rising;
}

void add_steps(Sheet& sheet, const Plan& plan) {
    sheet.before = {"Gloves, eyes, ventilation.",
                    "Mold clean, released, dry; straps at hand; vents open."};
    if (plan.bench) {
        for (const PourMethod method :
             {PourMethod::through_hole, PourMethod::open_half_and_turn, PourMethod::brush_first}) {
            sheet.methods.push_back({to_text(method), method_words(method), short_words(method)});
        }
    }
    sheet.after = {"Leave the cup beside the mold, open: it shows when the foam is firm.",
                   "Weigh what comes out of the mold, and log it: cavigram tally add."};
    if (plan.foam) {
        sheet.log_call = log_call(plan);
    }
}

}  // namespace

Sheet sheet_in_words(const Plan& plan) {
    Sheet sheet(plan);
    const Vec3 size = plan.measures.mass.bounds_mm.sizes();
    sheet.size =
        length_text(size.x()) + " x " + length_text(size.y()) + " x " + length_text(size.z());
    if (plan.foam) {
        // Mix, part and pressure follow the knobs: the page words them.
        sheet.facts = without(rows_of(foam_rows, plan), {"Mix", "Part", "Presses"});
    }
    if (plan.air) {
        sheet.up = up_words(plan.air->up);
        sheet.air = without(rows_of(air_rows, plan), {"Up", "Pour hole", "Vents"});
    }
    if (plan.thin) {
        sheet.thin = rows_of(thin_rows, plan);
    }
    if (plan.rise) {
        sheet.rise = rise_words(plan);
        sheet.rising = rising_of(*plan.rise);
    }
    if (plan.split) {
        sheet.split = rows_of([](Page& page, const Plan& p) { split_rows(page, p, false); }, plan);
    }
    if (plan.handle) {
        sheet.handle = rows_of(handle_rows, plan);
    }
    sheet.lines = lines_of(plan);
    if (plan.mold) {
        sheet.mold =
            rows_of([](Page& page, const Plan& p) { mold_rows(page, *p.mold, false); }, plan);
    }
    sheet.file = rows_of(file_rows, plan);
    sheet.marks = hole_marks(plan);
    sheet.thin_marks = thin_marks(plan);
    sheet.ways = ways_of(plan);
    add_steps(sheet, plan);
    if (!plan.cautions.empty()) {
        sheet.pour_cautions = pouring_cautions();
    }
    sheet.guesses = guesses_of(plan);
    return sheet;
}

}  // namespace cavigram::detail
