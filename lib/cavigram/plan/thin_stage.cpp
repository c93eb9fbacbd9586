// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <utility>

#include "cavigram/plan/thin_stage_detail.h"

namespace cavigram::detail {

namespace {

// Each region in words; of two that mirror each other the better placed one speaks for both.
std::vector<ThinPlace> places_of(std::vector<ThinRegion> regions, const PlaceFrame& frame) {
    std::vector<ThinPlace> places(regions.size());
    for (std::size_t i = 0; i < regions.size(); ++i) {
        places[i].region = std::move(regions[i]);
        const Box3& extent = places[i].region.extent_mm;
        places[i].where = place_words(frame, extent);
        for (std::size_t j = 0; j < i && !places[i].pair; ++j) {
            if (places[j].pair) {
                continue;
            }
            if (const auto words = pair_words(frame, places[j].region.extent_mm, extent)) {
                places[i].pair = j;
                places[j].pair = i;
                places[i].pair_words = places[j].pair_words = *words;
            }
        }
    }
    return places;
}

}  // namespace

double thin_limit_mm(const std::optional<double>& asked_mm, double skin_mm) {
    return asked_mm.value_or(std::max(2.0 * skin_mm, kHardToFill_mm));
}

double thickness_cap_mm(double limit_mm, bool for_density) {
    return std::max(kShownOverLimit * limit_mm,
                    for_density ? least_cap_mm(DensityMapOptions{}) : 0.0);
}

ThinBlock ThinKey::make(const RunContext& /*context*/) const {
    ThinBlock block;
    block.skin_mm = skin_mm;
    block.limit_mm = limit_mm;
    block.map = *map;
    ThinOptions options;
    options.limit_mm = limit_mm;
    options.skin_mm = skin_mm;
    options.flow_gap_mm = kHardToFill_mm;
    ThinRegions found = thin_regions(part->part.adjacent(), block.map, options);
    if (thicken_mm) {
        block.thickened = thickened(block.map, found, *thicken_mm);
    }
    for (const ThinRegion& region : found.regions) {
        block.all_skin_area_mm2 += region.all_skin ? region.area_mm2 : 0.0;
    }
    block.places = places_of(std::move(found.regions), place_frame(measures->mass));
    block.small = found.small;
    block.place_of_sample = std::move(found.of_sample);
    return block;
}

DensityMap DensityKey::make(const RunContext& /*context*/) const {
    return density_map(part->part.mesh(), *map, layers);
}

}  // namespace cavigram::detail
