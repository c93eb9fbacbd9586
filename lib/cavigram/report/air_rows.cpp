// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/core/text.h"
#include "cavigram/report/air_rows_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostListed = 5;

std::string cm3(double mm3) {
    return significant(mm3 / 1000.0, 2);
}

std::string at(const Vec3& p) {
    return place_text(p.x(), p.y(), p.z());
}

void left_rows(Page& page, const AirBlock& air) {
    if (air.unvented.total_mm3 <= 0.0) {
        return;
    }
    const std::string press = air.pressure_known
                                  ? "up to " + significant(air.pressure_high_kpa, 2) + " kPa"
                                  : significant(air.pressure_low_kpa, 1) + " to " +
                                        significant(air.pressure_high_kpa, 2) +
                                        " kPa (typical; yours is not known)";
    bool first = true;
    for (const LeftAfter& left : air.left_after) {
        if (left.trapped_mm3 < air.smallest_pocket_mm3 && !first) {
            continue;
        }
        const std::string count = left.vents == 0   ? "no vent"
                                  : left.vents == 1 ? "1 vent"
                                                    : format("%zu vents", left.vents);
        page.row(first ? "Bubbles" : "",
                 "with " + count + " " + cm3(left.trapped_mm3) +
                     " cm3 stays; the foam squeezes it to " +
                     (left.squeezed_mm3 == left.squeezed_most_mm3
                          ? cm3(left.squeezed_mm3)
                          : cm3(left.squeezed_mm3) + " to " + cm3(left.squeezed_most_mm3)) +
                     " cm3");
        first = false;
    }
    page.more("at a pressure of " + press);
}

void show_row(Page& page, const AirBlock& air) {
    if (!air.show) {
        return;
    }
    page.row("Show side",
             (air.show->holes_on_it == 0 ? std::string("no hole on it")
                                         : format("%zu hole%s on it", air.show->holes_on_it,
                                                  air.show->holes_on_it == 1 ? "" : "s")) +
                 (air.show->cost_mm3 < air.smallest_pocket_mm3
                      ? "; keeping off it costs no air worth counting"
                      : "; keeping off it leaves " + cm3(air.show->cost_mm3) + " cm3 more air"));
}

void neck_row(Page& page, const AirBlock& air) {
    if (!air.necks) {
        return;
    }
    const double more = air.necks->more_mm3();
    page.row("Necks", "were they closed where narrower than " + significant(air.neck_mm, 2) +
                          " mm (a guess; --neck), " +
                          (more < air.smallest_pocket_mm3
                               ? std::string("no more air worth counting would stay")
                               : cm3(more) + " cm3 more air would stay") +
                          "; looked for every " + significant(air.necks->spacing_mm, 2) + " mm");
    for (std::size_t i = 0; i < std::min(kMostListed, air.necks->held_back.size()); ++i) {
        const HeldBack& held = air.necks->held_back[i];
        if (held.volume_mm3 >= air.smallest_pocket_mm3) {
            page.more(cm3(held.volume_mm3) + " cm3 below " + at(held.peak_mm));
        }
    }
}

void pool_rows(Page& page, const AirBlock& air) {
    const Pools& pools = air.pools;
    if (!pools.landing_mm) {
        return;
    }
    std::string first = "it comes down at " + at(*pools.landing_mm);
    if (pools.level_height_mm && !pools.pools.empty()) {
        const double foot = pools.pools.front().floor_height_mm;
        first += format(" and stands at %s mm above the lowest place before it rises",
                        significant(std::max(0.0, *pools.level_height_mm - foot), 3).c_str());
    }
    page.row("Liquid", first);
    std::size_t told = 0;
    for (const Pool& pool : pools.pools) {
        if (!pool.entry_height_mm || told == kMostListed) {
            continue;
        }
        ++told;
        page.more("basin of " + cm3(pool.volume_mm3) + " cm3 at " + at(pool.floor_mm) +
                  (pools.level_height_mm
                       ? std::string(pool.reached ? ": the liquid runs over into it"
                                                  : ": only the rising foam gets there")
                       : ": liquid gets there after " + cm3(pool.entry_mm3) + " cm3 of it"));
    }
}

}  // namespace

void air_detail_rows(Page& page, const AirBlock& air) {
    left_rows(page, air);
    show_row(page, air);
    neck_row(page, air);
    pool_rows(page, air);
}

}  // namespace cavigram
