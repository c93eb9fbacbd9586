// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/thin_arrival.h"

#include <algorithm>
#include <utility>

#include "cavigram/core/sum.h"

namespace cavigram {

std::vector<ThinSample> thin_samples(const ThicknessMap& thickness, double volume_mm3,
                                     double share) {
    constexpr double kAsThin = 1.02;
    std::vector<std::pair<double, ThinSample>> all;
    for (const ThicknessSample& sample : thickness.samples) {
        if (sample.contact == Contact::edge) {
            continue;
        }
        const double wall_mm = wall_thickness_mm(sample);
        // The wall across has samples of its own, so each stands for half.
        const ThinSample place{sample.at_mm + 0.5 * wall_mm * sample.inward,
                               0.5 * wall_mm * sample.area_mm2};
        all.emplace_back(wall_mm, place);
    }
    std::stable_sort(all.begin(), all.end(),
                     [](const auto& a, const auto& b) { return a.first < b.first; });
    std::vector<ThinSample> places;
    const double wanted_mm3 = share * volume_mm3;
    double taken_mm3 = 0.0;
    double limit_mm = 0.0;
    for (const auto& [wall_mm, place] : all) {
        if (taken_mm3 >= wanted_mm3 && wall_mm > kAsThin * limit_mm) {
            break;
        }
        if (taken_mm3 < wanted_mm3) {
            limit_mm = wall_mm;
        }
        taken_mm3 += place.volume_mm3;
        places.push_back(place);
    }
    return places;
}

std::optional<double> arrival_share(const HeightVolume& cavity,
                                    const std::vector<ThinSample>& places) {
    CompensatedSum weighted;
    CompensatedSum all;
    for (const ThinSample& place : places) {
        const double below = cavity.volume_below_mm3(place.at_mm.dot(cavity.up()));
        weighted.add(place.volume_mm3 * std::clamp(below / cavity.volume_mm3(), 0.0, 1.0));
        all.add(place.volume_mm3);
    }
    return all.value() > 0.0 ? std::optional(weighted.value() / all.value()) : std::nullopt;
}

}  // namespace cavigram
