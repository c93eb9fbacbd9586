// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/text.h"
#include "cavigram/report/air_rows_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostListed = 5;
constexpr std::size_t kMostPockets = 8;  // the rest is in the JSON

std::string air_text(double mm3) {
    return told_own(mm3, Kind::volume, 3);
}

std::string at(const Vec3& p) {
    return place_text(p.x(), p.y(), p.z());
}

void left_rows(Page& page, const AirBlock& air) {
    if (air.unvented.total_mm3 <= 0.0) {
        return;
    }
    const std::string press = "about " + told_own(air.pressure_kpa, Kind::pressure, 2);
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
                                                    : fmt::format("{} vents", left.vents);
        page.add(first ? "Bubbles" : "",
                 "with " + count + " " + air_text(left.trapped_mm3) +
                     " stays; the foam squeezes it to " + air_text(left.squeezed_mm3),
                 !first);
        first = false;
    }
    if (!first) {
        page.detail("", "at a pressure of " + press);
    }
}

void show_row(Page& page, const AirBlock& air) {
    if (!air.show) {
        return;
    }
    page.row("Show side",
             (air.show->holes_on_it == 0 ? std::string("no hole on it")
                                         : fmt::format("{} hole{} on it", air.show->holes_on_it,
                                                       air.show->holes_on_it == 1 ? "" : "s")) +
                 (air.show->cost_mm3 < air.smallest_pocket_mm3
                      ? "; keeping off it costs no air worth counting"
                      : "; keeping off it leaves " + air_text(air.show->cost_mm3) + " more air"));
}

void neck_row(Page& page, const AirBlock& air) {
    if (!air.necks) {
        return;
    }
    const double more = air.necks->more_mm3();
    page.add(
        "Necks",
        "were they closed where narrower than " +
            told_own(air.necks->options.width_mm, Kind::length, 2) + ", " +
            (more < air.smallest_pocket_mm3 ? std::string("no more air worth counting would stay")
                                            : air_text(more) + " more air would stay") +
            "; looked for every " + told_own(air.necks->spacing_mm, Kind::length, 2),
        more < air.smallest_pocket_mm3);
    for (std::size_t i = 0; i < std::min(kMostListed, air.necks->held_back.size()); ++i) {
        const HeldBack& held = air.necks->held_back[i];
        if (held.volume_mm3 >= air.smallest_pocket_mm3) {
            page.more(air_text(held.volume_mm3) + " below " + at(held.peak_mm));
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
        first += " and stands at " +
                 told_own(std::max(0.0, *pools.level_height_mm - foot), Kind::length, 3) +
                 " above the lowest place before it rises";
    }
    page.detail("Liquid", first);
    std::size_t listed = 0;
    for (const Pool& pool : pools.pools) {
        if (!pool.entry_height_mm || listed == kMostListed) {
            continue;
        }
        ++listed;
        page.detail("",
                    "basin of " + air_text(pool.volume_mm3) + " at " + at(pool.floor_mm) +
                        (pools.level_height_mm
                             ? std::string(pool.reached ? ": the liquid runs over into it"
                                                        : ": only the rising foam gets there")
                             : ": liquid gets there after " + air_text(pool.entry_mm3) + " of it"));
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
    const bool beside = air.pour_hole_after == PourHoleAfter::plugged && !air.vents.empty();
    const std::string place = beside                    ? ", beside the highest vent"
                              : air.pour_hole_elsewhere ? ", the highest place that takes it"
                                                        : ", the highest place";
    return place + (air.show ? " off the show side" : "");
}

// A vent is never named where nothing would stay without it, but by those who want it.
std::string no_air_words(const AirBlock& air) {
    return std::string(air.unvented.total_mm3 == 0.0 ? "none" : "none worth a vent") +
           (air.vents.empty() ? " stays" : " would stay without the vents given");
}

void rests_on_row(Page& page, const AirBlock& air) {
    page.detail(
        "Rests on",
        fmt::format("{} at {}, packed to {} times its free rise: up to {} mL/s of air at the "
                    "fastest of the rise",
                    air.rests_on.card, told_own(air.rests_on.temperature_c, Kind::temperature, 3),
                    significant(air.rests_on.packing_factor, 3),
                    significant(air.air_rate_mm3_s / 1000.0, 2)));
}

void second_method(Page& page, const Plan& plan) {
    const AirBlock& air = *plan.air;
    const double most =
        std::max(air.second.piece_difference_mm3, std::abs(air.second.volume_difference_mm3));
    page.detail("Check", "second method (upright columns) agrees within " +
                             significant(100.0 * most / plan.measures.mass.volume_mm3, 2) +
                             " % of the part");
}

void pour_hole_rows(Page& page, const Plan& plan) {
    const AirBlock& air = *plan.air;
    for (const SizedOpening& sized : air.openings) {
        const Opening& opening = sized.opening;
        if (opening.pour_hole) {
            const bool through = !plan.bench || plan.bench->method == PourMethod::through_hole;
            page.row("Pour hole",
                     sized.where +
                         (through || opening.given
                              ? ", " + told_own(air.pour_hole_mm, Kind::length, 3) + " wide"
                              : std::string()) +
                         pour_hole_words(air, opening));
            page.more("   " + after_words(air, opening, through));
            page.detail("", "   at " + at(opening.place_mm));
        }
    }
    if (air.pour_hole_after == PourHoleAfter::none) {
        page.row("Pour hole", "none: the liquid goes into the open half");
    }
}

// Where air would stay, without vents.
void pocket_rows(Page& page, const AirBlock& air) {
    for (std::size_t i = 0; i < std::min(kMostPockets, air.unvented.pockets.size()); ++i) {
        const Pocket& pocket = air.unvented.pockets[i];
        if (air.no_opening && pocket.parent < 0) {
            continue;  // the whole solid
        }
        page.detail("", std::string(pocket.parent >= 0 ? "  within it " : "pocket of ") +
                            told_own(pocket.volume_mm3, Kind::volume, 3) + ", " +
                            told_own(pocket.depth_mm, Kind::length, 2) + " deep, top at " +
                            at(pocket.peak_mm));
    }
    if (air.unvented.pockets.size() > kMostPockets) {
        page.detail(
            "", fmt::format("and {} more in the JSON", air.unvented.pockets.size() - kMostPockets));
    }
    if (air.unvented.hidden_count > 0) {
        page.detail("", thousands(air.unvented.hidden_count) +
                            (air.unvented.hidden_count == 1 ? " bubble" : " bubbles") + " below " +
                            told_own(air.smallest_pocket_mm3, Kind::volume, 1) + ", " +
                            air_text(air.unvented.hidden_mm3) + " together, not listed");
    }
}

}  // namespace

std::string after_words(const AirBlock& air, const Opening& opening, bool poured_through) {
    const std::string drill = told_drill(air.cover_drill_mm) + " wide";
    if (!opening.lets_air_out) {
        return "plugged after the pour: it lets out no air";
    }
    return poured_through || opening.given
               ? "covered after the pour; drill the cover " + drill + ", it is a vent too"
               : "not poured through (see Pour): drill it " + drill + ", as the topmost vent";
}

void air_rows(Page& page, const Plan& plan) {
    const AirBlock& air = *plan.air;
    page.row("Up", up_text(air.up.x(), air.up.y(), air.up.z()));
    page.detail("", fmt::format("{} {:.3g},{:.3g},{:.3g}", setting("up"), air.up.x() + 0.0,
                                air.up.y() + 0.0, air.up.z() + 0.0));
    pour_hole_rows(page, plan);
    const double share = 100.0 / plan.measures.mass.volume_mm3;
    const bool nothing_listed = air.unvented.pockets.empty();
    page.row("Air", air.no_opening ? "no opening yet: without a vent all air stays"
                    : air.unvented.total_mm3 == 0.0 || nothing_listed
                        ? no_air_words(air)
                        : volume_text(air.unvented.total_mm3) + " stays without vents, " +
                              significant(air.unvented.total_mm3 * share, 2) + " % of the part");
    pocket_rows(page, air);
    for (std::size_t i = 0; i < air.vents.size(); ++i) {
        const SizedVent& vent = air.vents[i];
        const std::string effect =
            vent.given ? ", as given"
                       : "; frees " + told_own(vent.frees_mm3, Kind::volume, 3) + ", leaves " +
                             told_end(vent.residual_mm3, Kind::volume, 3);
        page.row(i == 0 ? "Vents" : "", fmt::format("{}. ", i + 1) + vent.where + ", " +
                                            told_drill(vent.diameter_mm) + " wide" + effect);
        page.detail("", "   at " + at(vent.at_mm));
    }
    details(page, plan);
    rests_on_row(page, air);
    second_method(page, plan);
}

}  // namespace cavigram
