// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/rise_rows_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostListed = 3;

std::string seconds(double s) {
    return fmt::format("{} s", static_cast<long>(std::lround(s)));
}

std::string volume(double mm3) {
    return mm3 > 0.0 ? told_own(mm3, Kind::volume, 2) : "0";
}

void place_rows(Page& page, const RiseBlock& block, bool is_short) {
    const Rise& rise = block.rise;
    for (std::size_t i = 0; i < std::min(kMostListed, rise.last.size()); ++i) {
        page.add(i == 0 ? "Filled last" : "",
                 fmt::format("{}: {}", seconds(*rise.last[i].time_s), block.last_where[i]),
                 is_short);
    }
    for (std::size_t i = 0; i < std::min(kMostListed, rise.sealed.size()); ++i) {
        const RiseAir& air = rise.sealed[i];
        page.add(i == 0 ? "Air cut off" : "",
                 fmt::format("{}: {} {}, squeezed to {}", seconds(air.time_s),
                             told_own(air.volume_mm3, Kind::volume, 2), block.air_where[i],
                             told_own(air.squeezed_mm3, Kind::volume, 2)),
                 is_short);
    }
}

void seam_rows(Page& page, const RiseBlock& block, bool is_short) {
    const Rise& rise = block.rise;
    for (std::size_t i = 0; i < std::min(kMostListed, rise.seams.size()); ++i) {
        const RiseSeam& seam = rise.seams[i];
        page.add(i == 0 ? "Fronts meet" : "",
                 fmt::format("{}  {}, on {}", seconds(seam.time_s), block.seam_where[i],
                             told_own(seam.area_mm2, Kind::area, 2)),
                 is_short);
    }
}

const char* way_of(RiseLevel level) {
    switch (level) {
        case RiseLevel::still:
            return "a level that rises";
        case RiseLevel::stepped:
            return "a thick foam that gravity moves too, step by step";
        case RiseLevel::viscous:
            break;
    }
    return "a thick foam that gravity does not move";
}

void hole_rows(Page& page, const RiseBlock& block, bool is_short) {
    bool first = true;
    for (const RiseHoleBlock& hole : block.holes) {
        page.add(first ? "Foam at holes" : "",
                 hole.at.reached_s
                     ? fmt::format("{}: {}, about {} leaves there", seconds(*hole.at.reached_s),
                                   hole.name, told_own(hole.at.flash_g, Kind::mass, 2))
                     : fmt::format("never: {}", hole.name),
                 is_short);
        first = false;
    }
}

}  // namespace

void rise_rows(Page& page, const RiseBlock& block, bool is_short) {
    const Rise& rise = block.rise;
    page.row("Rise", block.story);
    place_rows(page, block, is_short);
    seam_rows(page, block, is_short);
    hole_rows(page, block, is_short);
    page.add("Pressure",
             fmt::format("about {} while it rises, {} at most; it parts the mold with about {} N",
                         told_own(rise.flow_kpa, Kind::pressure, 1),
                         told_own(rise.peak_kpa, Kind::pressure, 2),
                         significant(rise.opening_force_n, 2)),
             is_short);
    page.add("Followed",
             fmt::format("as {}{}: gravity is {} times what viscosity takes; {} cells of {}, mass "
                         "to {}",
                         way_of(rise.level),
                         rise.steps_failed ? " (steps with both did not settle)" : "",
                         significant(rise.gravity_number, 2), thousands(rise.cells),
                         told_own(rise.cell_mm, Kind::length, 2),
                         rise.mass_error > 0.0 ? fmt::format("{:.0e}", rise.mass_error) : "0"),
             is_short);
}

void rise_tables(Page& page, const RiseBlock& block) {
    if (!block.cases.empty()) {
        page.line();
        page.cells("What it buys", {"", "full at", "air stays", "empty", "leaves", "presses"},
                   false);
        for (const RiseCase& one : block.cases) {
            page.cells("",
                       {one.what, one.full_s ? seconds(*one.full_s) : "never", volume(one.air_mm3),
                        volume(one.empty_mm3), told_own(one.flash_g, Kind::mass, 2),
                        told_own(one.peak_kpa, Kind::pressure, 2)},
                       false);
        }
    }
    if (block.runs > 0) {
        page.line();
        bool first = true;
        for (const LikelyFilled& place : block.likely) {
            page.row(first ? "Likely filled" : "",
                     fmt::format("in {} of {} runs: {}", std::lround(place.share * block.runs),
                                 block.runs, place.where));
            first = false;
        }
    }
}

}  // namespace cavigram
