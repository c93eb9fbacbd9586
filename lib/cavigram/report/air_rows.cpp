// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include "cavigram/core/text.h"
#include "cavigram/report/air_rows_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostListed = 5;
constexpr std::size_t kMostPockets = 8;  // the rest is in the JSON

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
    const std::string press = "about " + significant(air.pressure_kpa, 2) + " kPa";
    bool first = true;
    for (const LeftAfter& left : air.left_after) {
        if (left.vents == 0 && air.no_opening) {
            continue;  // no foam rises into a closed vessel
        }
        if (left.trapped_mm3 < air.smallest_pocket_mm3 && !first) {
            continue;
        }
        const std::string count = left.vents == 0   ? "no vent"
                                  : left.vents == 1 ? "1 vent"
                                                    : format("%zu vents", left.vents);
        page.row(first ? "Bubbles" : "", "with " + count + " " + cm3(left.trapped_mm3) +
                                             " cm3 stays; the foam squeezes it to " +
                                             cm3(left.squeezed_mm3) + " cm3");
        first = false;
    }
    if (!first) {
        page.more("at a pressure of " + press);
    }
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
    page.row(
        "Necks",
        "were they closed where narrower than " + significant(air.neck_mm, 2) + " mm, " +
            (more < air.smallest_pocket_mm3 ? std::string("no more air worth counting would stay")
                                            : cm3(more) + " cm3 more air would stay") +
            "; looked for every " + significant(air.necks->spacing_mm, 2) + " mm");
    for (std::size_t i = 0; i < std::min(kMostListed, air.necks->held_back.size()); ++i) {
        const HeldBack& held = air.necks->held_back[i];
        if (held.volume_mm3 >= air.smallest_pocket_mm3) {
            page.more(cm3(held.volume_mm3) + " cm3 below " + at(held.peak_mm));
        }
    }
}

void pool_rows(Page& page, const Plan& plan) {
    const Pools& pools = plan.air->pools;
    if (!pools.landing_mm) {
        return;
    }
    std::string first = "it comes down at " + at(*pools.landing_mm);
    // Where the clock is reckoned too, its row tells how deep the liquid stands.
    if (pools.level_height_mm && !pools.pools.empty() && !plan.bench) {
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

void details(Page& page, const Plan& plan) {
    const AirBlock& air = *plan.air;
    left_rows(page, air);
    show_row(page, air);
    neck_row(page, air);
    pool_rows(page, plan);
}

std::string pour_hole_words(const AirBlock& air, const Opening& opening) {
    if (opening.given) {
        return "";
    }
    const std::string place = air.pour_hole_after == PourHoleAfter::plugged && !air.vents.empty()
                                  ? ", beside the highest vent"
                                  : ", the highest place";
    return place + (air.show ? " off the show side" : "");
}

// A vent is never named where nothing would stay without it, but by those who want it.
std::string no_air_words(const AirBlock& air) {
    return std::string(air.unvented.total_mm3 == 0.0 ? "none" : "none worth a vent") +
           (air.vents.empty() ? " stays" : " would stay without the vents given");
}

void rests_on_row(Page& page, const AirBlock& air) {
    page.row("Rests on",
             format("%s at %s C, packed to %s times its free rise: up to %s mL/s of air at the "
                    "fastest of the rise",
                    air.rests_on.card.c_str(), significant(air.rests_on.temperature_c, 3).c_str(),
                    significant(air.rests_on.packing_factor, 3).c_str(),
                    significant(air.air_rate_mm3_s / 1000.0, 2).c_str()));
}

void second_method(Page& page, const Plan& plan) {
    const AirBlock& air = *plan.air;
    const double most = std::max(air.second_piece_mm3, std::abs(air.second_volume_mm3));
    page.row("Check", "second method (upright columns) agrees within " +
                          significant(100.0 * most / plan.measures.mass.volume_mm3, 2) +
                          " % of the part");
}

// What becomes of a pour hole; poured into the open half it never was one.
std::string after_words(const Plan& plan, const Opening& opening) {
    const std::string drill = significant(plan.air->cover_drill_mm, 2) + " mm wide";
    if (!opening.lets_air_out) {
        return "plugged after the pour: it lets out no air";
    }
    if (plan.bench && plan.bench->method != PourMethod::through_hole && !opening.given) {
        return "not poured through (see Pour): drill it " + drill + ", as the topmost vent";
    }
    return "covered after the pour; drill the cover " + drill + ", it is a vent too";
}

}  // namespace

void air_rows(Page& page, const Plan& plan) {
    const AirBlock& air = *plan.air;
    page.row("Up",
             format("%.3g, %.3g, %.3g: ", air.up.x() + 0.0, air.up.y() + 0.0, air.up.z() + 0.0) +
                 up_text(air.up.x(), air.up.y(), air.up.z()));
    for (std::size_t i = 0; i < air.openings.size(); ++i) {
        const Opening& opening = air.openings[i];
        if (opening.pour_hole) {
            page.row("Pour hole", at(opening.place_mm) + pour_hole_words(air, opening));
            page.more("   " + air.openings_where[i]);
            page.more("   " + after_words(plan, opening));
        }
    }
    if (air.pour_hole_after == PourHoleAfter::none) {
        page.row("Pour hole", "none: the liquid goes into the open half");
    }
    const double share = 100.0 / plan.measures.mass.volume_mm3;
    const bool nothing_listed = air.unvented.pockets.empty();
    page.row("Air", air.no_opening ? "no opening yet: without a vent all air stays"
                    : air.unvented.total_mm3 == 0.0 || nothing_listed
                        ? no_air_words(air)
                        : volume_text(air.unvented.total_mm3) + " stays without vents, " +
                              significant(air.unvented.total_mm3 * share, 2) + " % of the part");
    for (std::size_t i = 0; i < std::min(kMostPockets, air.unvented.pockets.size()); ++i) {
        const Pocket& pocket = air.unvented.pockets[i];
        if (air.no_opening && pocket.parent < 0) {
            continue;  // the whole solid
        }
        page.more(format("%s%s cm3, %s mm deep, top at %s",
                         pocket.parent >= 0 ? "  within it " : "pocket of ",
                         significant(pocket.volume_mm3 / 1000.0, 3).c_str(),
                         significant(pocket.depth_mm, 2).c_str(), at(pocket.peak_mm).c_str()));
    }
    if (air.unvented.pockets.size() > kMostPockets) {
        page.more(format("and %zu more in the JSON", air.unvented.pockets.size() - kMostPockets));
    }
    if (air.unvented.hidden_count > 0) {
        page.more(thousands(air.unvented.hidden_count) +
                  (air.unvented.hidden_count == 1 ? " bubble" : " bubbles") + " below " +
                  significant(air.smallest_pocket_mm3 / 1000.0, 1) + " cm3, " +
                  significant(air.unvented.hidden_mm3 / 1000.0, 2) + " cm3 together, not listed");
    }
    for (std::size_t i = 0; i < air.vents.size(); ++i) {
        const SizedVent& vent = air.vents[i];
        const std::string effect =
            vent.given ? ", as given"
                       : "; frees " + significant(vent.frees_mm3 / 1000.0, 3) + " cm3, leaves " +
                             significant(vent.residual_mm3 / 1000.0, 3);
        page.row(i == 0 ? "Vents" : "", format("%zu. %s, %s mm wide", i + 1, at(vent.at_mm).c_str(),
                                               significant(vent.diameter_mm, 2).c_str()) +
                                            effect);
        page.more("   " + vent.where);
    }
    details(page, plan);
    rests_on_row(page, air);
    second_method(page, plan);
}

}  // namespace cavigram
