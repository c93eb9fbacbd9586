// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/mix_choice.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

// Ratios nearer than this are one mix.
constexpr double kSameMix = 1e-9;

double parts_of_a(const MixRatio& mix) {
    return mix.a / mix.b;
}

Ranged blend(const Ranged& x, const Ranged& y, double share) {
    return {std::lerp(x.value, y.value, share), std::lerp(x.low, y.low, share),
            std::lerp(x.high, y.high, share)};
}

// Nearer than this to a known mix, the known one is meant.
constexpr double kSameDensity = 1e-9;

}  // namespace

FoamCard at_temperature_of(const FoamCard& card, FoamCard other) {
    for (double* const time :
         {&other.work_time_s, &other.rise_time_s, &other.demold_min_s, &other.demold_max_s}) {
        *time = time_at_temperature_s(*time, other.at_c, card.at_c, other.rule);
    }
    other.at_c = card.at_c;
    return other;
}

std::vector<FoamCard> mixes_of(const FoamCard& card, const std::vector<FoamCard>& family) {
    std::vector<FoamCard> known = {card};
    for (const FoamCard& other : family) {
        const double parts = parts_of_a(other.mix);
        const bool is_new = std::none_of(known.begin(), known.end(), [&](const FoamCard& one) {
            return std::abs(parts_of_a(one.mix) / parts - 1.0) <= kSameMix;
        });
        if (is_new && other.family == card.family && other.basis == card.basis) {
            known.push_back(other);
        }
    }
    return known;
}

namespace {

std::optional<Ranged> blend(const std::optional<Ranged>& x, const std::optional<Ranged>& y,
                            double share) {
    return x && y ? std::optional(blend(*x, *y, share)) : std::nullopt;
}

FoamCard blended_card(const FoamCard& card, const FoamCard& x, const FoamCard& y, double share) {
    FoamCard blended = x;
    blended.source = fmt::format("interpolated between {} and {}", x.name, y.name);
    blended.typical = x.typical || y.typical;
    if (x.density_air_kpa != y.density_air_kpa) {
        throw InvalidInput(fmt::format(
            "The cards {} and {} state densities measured in different air, so that nothing "
            "can be interpolated between them; bring them to one altitude.",
            x.name, y.name));
    }
    const auto by_volume = [&](double p, double q) {
        return 1.0 / std::lerp(1.0 / p, 1.0 / q, share);
    };
    // The gas sets the free rise; a card's molded figure is that times its packing.
    const Ranged p = free_rise_kg_m3(x);
    const Ranged q = free_rise_kg_m3(y);
    blended.packing = blend(x.packing, y.packing, share);
    const double stated = x.basis == DensityBasis::molded ? blended.packing.value : 1.0;
    blended.density_kg_m3 = {stated * by_volume(p.value, q.value), stated * by_volume(p.low, q.low),
                             stated * by_volume(p.high, q.high)};
    blended.skin_thickness_mm = blend(x.skin_thickness_mm, y.skin_thickness_mm, share);
    blended.skin_density_kg_m3 = blend(x.skin_density_kg_m3, y.skin_density_kg_m3, share);
    blended.viscosity_pa_s = std::lerp(x.viscosity_pa_s, y.viscosity_pa_s, share);
    const FoamCard first = at_temperature_of(card, x);
    const FoamCard second = at_temperature_of(card, y);
    blended.at_c = card.at_c;
    blended.rule = card.rule;
    blended.work_time_s = std::lerp(first.work_time_s, second.work_time_s, share);
    blended.rise_time_s = std::lerp(first.rise_time_s, second.rise_time_s, share);
    blended.demold_min_s = std::lerp(first.demold_min_s, second.demold_min_s, share);
    blended.demold_max_s = std::lerp(first.demold_max_s, second.demold_max_s, share);
    return blended;
}

}  // namespace

FoamCard card_at_mix(const FoamCard& card, const std::vector<FoamCard>& family,
                     const MixRatio& mix) {
    const double wanted = parts_of_a(mix);
    const FoamCard* below = nullptr;
    const FoamCard* above = nullptr;
    const std::vector<FoamCard> known = mixes_of(card, family);
    for (const FoamCard& one : known) {
        const double parts = parts_of_a(one.mix);
        if (std::abs(wanted / parts - 1.0) <= kSameMix) {
            return one;
        }
        if (parts < wanted && (below == nullptr || parts > parts_of_a(below->mix))) {
            below = &one;
        }
        if (parts > wanted && (above == nullptr || parts < parts_of_a(above->mix))) {
            above = &one;
        }
    }
    if (below == nullptr || above == nullptr) {
        std::string names;
        double least = INFINITY;
        double most = 0.0;
        for (const FoamCard& one : known) {
            names +=
                fmt::format("{}{:.4g}:{:.4g}", names.empty() ? "" : " and ", one.mix.a, one.mix.b);
            least = std::min(least, parts_of_a(one.mix));
            most = std::max(most, parts_of_a(one.mix));
        }
        const double swapped = mix.b / mix.a;
        if (swapped >= least * (1.0 - kSameMix) && swapped <= most * (1.0 + kSameMix)) {
            throw InvalidInput(fmt::format(
                "The mix {0:.4g}:{1:.4g} would be more of A than this foam takes; A stands first: "
                "did you mean {1:.4g}:{0:.4g}? Known of \"{2}\" are {3}.",
                mix.a, mix.b, card.family, names));
        }
        throw InvalidInput(fmt::format(
            "The mix {:.4g}:{:.4g} lies outside what is known of \"{}\" ({}); give a mix between "
            "known ones, or a card measured at that mix.",
            mix.a, mix.b, card.family, names));
    }
    const double from = parts_of_a(below->mix);
    const double share = (wanted - from) / (parts_of_a(above->mix) - from);
    FoamCard blended = blended_card(card, *below, *above, share);
    blended.name = fmt::format("{} at {:.4g}:{:.4g}", card.family, mix.a, mix.b);
    blended.mix = mix;
    if (card.index) {
        blended.index = *card.index * wanted / parts_of_a(card.mix);  // the same liquids (N3)
    }
    blended.kit_a_g = card.kit_a_g;
    blended.kit_b_g = card.kit_b_g;
    blended.kit_price = card.kit_price;
    blended.currency = card.currency;
    return blended;
}

Ranged free_rise_kg_m3(const FoamCard& card) {
    const Ranged& stated = card.density_kg_m3;
    if (card.basis != DensityBasis::molded) {
        return stated;
    }
    const double packing = card.packing.value;
    return {stated.value / packing, stated.low / packing, stated.high / packing};
}

MixChoice mix_for_free_rise(const FoamCard& card, const std::vector<FoamCard>& family,
                            double wanted_kg_m3) {
    std::vector<FoamCard> known = mixes_of(card, family);
    // By density; of equal ones the first, which is the card itself where it is among them.
    std::stable_sort(known.begin(), known.end(), [](const FoamCard& p, const FoamCard& q) {
        return free_rise_kg_m3(p).value < free_rise_kg_m3(q).value;
    });
    const auto density = [](const FoamCard& c) { return free_rise_kg_m3(c).value; };
    for (const FoamCard& one : known) {
        if (std::abs(density(one) / wanted_kg_m3 - 1.0) <= kSameDensity) {
            return {one, false};
        }
    }
    if (wanted_kg_m3 < density(known.front())) {
        return {known.front(), true};
    }
    if (wanted_kg_m3 > density(known.back())) {
        return {known.back(), true};
    }
    const auto above = std::find_if(known.begin(), known.end(),
                                    [&](const FoamCard& c) { return density(c) > wanted_kg_m3; });
    const FoamCard& light = *(above - 1);
    const double share = (1.0 / wanted_kg_m3 - 1.0 / density(light)) /
                         (1.0 / density(*above) - 1.0 / density(light));
    const double r = std::lerp(light.mix.a / light.mix.b, above->mix.a / above->mix.b, share);
    return {card_at_mix(card, family, {100.0 * r, 100.0}), false};
}

}  // namespace cavigram
