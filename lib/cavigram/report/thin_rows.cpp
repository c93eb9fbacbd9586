// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include <fmt/core.h>

#include "cavigram/report/thin_rows_detail.h"

namespace cavigram {

namespace {

constexpr std::size_t kMostListed = 8;  // the rest is in the JSON

std::string reason(const ThinRegion& region) {
    return region.all_skin ? "all skin" : region.hard_to_fill ? "hard to fill" : "thin";
}

std::string small_area_text(double mm2) {
    return told_own(mm2, Kind::area, 2);
}

// One region, or two that mirror each other: then the thinner figure and both areas.
void region_row(Page& page, const ThinBlock& thin, std::size_t i) {
    const ThinPlace& place = thin.places[i];
    const ThinRegion& region = place.region;
    const std::string at = place_text(region.at_mm.x(), region.at_mm.y(), region.at_mm.z());
    if (!place.pair) {
        page.more(fmt::format("{}. {}: {} at the thinnest, over {}, {}, near {}", letters(i),
                              place.where.words, told_own(region.thickness_mm, Kind::length, 2),
                              small_area_text(region.area_mm2), reason(region), at),
                  {region.at_mm});
        return;
    }
    const ThinRegion& other = thin.places[*place.pair].region;
    page.more(
        fmt::format("{}, {}. {}: {} at the thinnest, over {} together, {}, one near {}", letters(i),
                    letters(*place.pair), place.pair_words,
                    told_own(std::min(region.thickness_mm, other.thickness_mm), Kind::length, 2),
                    small_area_text(region.area_mm2 + other.area_mm2),
                    reason(region.all_skin ? region : other), at),
        {region.at_mm, other.at_mm});
}

void thickened_rows(Page& page, const Thickened& thicker) {
    page.row("Thicker",
             fmt::format(
                 "with {} more on every wall (half on each side) {} of {} leave{} the list: "
                 "{} of {}, with {} between its two sides",
                 told_own(thicker.gain_mm, Kind::length, 3), thousands(thicker.places_leaving),
                 plural(thicker.places_leaving + thicker.places_left, "place", "places"),
                 thicker.places_leaving == 1 ? "s" : "", small_area_text(thicker.area_leaving_mm2),
                 small_area_text(thicker.area_leaving_mm2 + thicker.area_left_mm2),
                 volume_text(thicker.volume_leaving_mm3)));
    if (thicker.all_skin_leaving_mm2 + thicker.all_skin_left_mm2 > 0.0) {
        page.more(fmt::format("{} that are all skin get a core, {} stay without",
                              small_area_text(thicker.all_skin_leaving_mm2),
                              small_area_text(thicker.all_skin_left_mm2)));
    }
    page.more("thickening only the listed places adds about " +
              volume_text(thicker.volume_added_mm3));
}

}  // namespace

void thin_rows(Page& page, const Plan& plan) {
    const ThinBlock& thin = *plan.thin;
    const std::vector<ThinPlace>& places = thin.places;
    page.row("Thin", places.empty() ? "nowhere thinner than " + length_text(thin.limit_mm)
                                    : plural(places.size(), "place", "places") + " thinner than " +
                                          length_text(thin.limit_mm) + "; all skin below " +
                                          told_own(2.0 * thin.skin_mm, Kind::length, 3) + ": " +
                                          area_text(thin.all_skin_area_mm2));
    std::size_t unlisted = 0;
    std::size_t rows = 0;
    for (std::size_t i = 0; i < places.size(); ++i) {
        if (places[i].pair && *places[i].pair < i) {
            continue;  // said with the other of the pair
        }
        if (rows == kMostListed) {
            unlisted += places[i].pair ? 2 : 1;
            continue;
        }
        region_row(page, thin, i);
        ++rows;
    }
    if (unlisted > 0) {
        page.more(fmt::format("and {} more in the JSON", unlisted));
    }
    if (thin.small.count > 0) {
        page.more(plural(thin.small.count, "speck", "specks") + " too small to matter, " +
                  small_area_text(thin.small.area_mm2) + " together, not listed");
    }
    if (thin.thickened) {
        thickened_rows(page, *thin.thickened);
    }
}

}  // namespace cavigram
