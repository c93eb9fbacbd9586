// SPDX-License-Identifier: GPL-3.0-or-later
#include <string>
#include <string_view>

#include <fmt/core.h>

#include "cavigram/report/planned_way_detail.h"
#include "cavigram/report/way_rows_detail.h"

namespace cavigram {

namespace {

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

}  // namespace

void way_table(Page& page, const Plan& plan, bool is_detail) {
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

void way_search_rows(Page& page, const Orientations& found) {
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

}  // namespace cavigram
