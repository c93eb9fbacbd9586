// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/foam/mix_choice.h"
#include "cavigram/plan/foam_choice_detail.h"

namespace cavigram::detail {

namespace {

// How far a density or a skin that a person states may be off when no bounds come with it. Common
// practice, no source.
constexpr double kStatedSpread = 1.1;

Ranged stated(double value) {
    return {value, value / kStatedSpread, value * kStatedSpread};
}

// The card's free rise in the room's air.
Ranged free_rise_here(const FoamCard& card, double air_kpa) {
    const Ranged known = free_rise_kg_m3(card);
    const auto here = [&](double density) {
        return free_rise_in_air_kg_m3(density, card.density_air_kpa, air_kpa);
    };
    return {here(known.value), here(known.low), here(known.high)};
}

void check_contradictions(const FoamOptions& options, const FoamCard& card) {
    if (options.overpack && options.skin_thickness_mm) {
        throw InvalidInput(fmt::format("{} and {} settle the same thing; give one of them.",
                                       setting("overpack"), setting("skin-thickness")));
    }
    if (!options.density_kg_m3 && options.basis && *options.basis != card.basis) {
        throw InvalidInput(fmt::format("{} {} needs a {}: the card {} states its density as {}.",
                                       setting("basis"), to_text(*options.basis),
                                       setting("density"), card.name, to_text(card.basis)));
    }
    if (options.overpack && *options.overpack < 1.0) {
        throw InvalidInput(fmt::format("An overpack of {} would not fill the mold; give 1 or more.",
                                       significant(*options.overpack, 3)));
    }
}

// Skin and profile, of the card unless the options say otherwise.
void set_skin(FoamRequest& request, const FoamOptions& options, const FoamCard& card) {
    request.profile = options.profile.value_or(card.skin_profile);
    request.skin_density_kg_m3 =
        options.skin_density_kg_m3 ? stated(*options.skin_density_kg_m3) : card.skin_density_kg_m3;
    if (options.skin_thickness_mm) {
        request.skin_thickness_mm = stated(*options.skin_thickness_mm);
    } else if (!options.overpack) {
        request.skin_thickness_mm = card.skin_thickness_mm;
    }
}

// The mix that rises freely to a density in the room's air, of those known where the cards were
// measured.
MixChoice mix_here(const std::vector<FoamCard>& family, double wanted_kg_m3, double air_kpa) {
    const FoamCard& card = family.front();
    const double there = free_rise_in_air_kg_m3(wanted_kg_m3, air_kpa, card.density_air_kpa);
    return mix_for_free_rise(card, family, there);
}

// What the mix should rise to for a part of this mean density.
double wanted_free_rise(const FoamOptions& options, const FoamCard& card,
                        const FoamRequest& request, double mean, std::optional<double> skin_share) {
    if (request.skin_thickness_mm && skin_share && *skin_share < 1.0) {
        // A core at free rise: mean = free rise (1 - s) + skin s.
        const double core =
            (mean - request.skin_density_kg_m3.value * *skin_share) / (1.0 - *skin_share);
        return std::max(core, 1.0);
    }
    return mean / options.overpack.value_or(card.packing.value);
}

// How much goes in where no density is asked for, or free rise is what was stated.
void set_packing(FoamRequest& request, const FoamOptions& options, const FoamCard& card) {
    if (!request.skin_thickness_mm) {
        request.packing_factor = options.overpack.value_or(card.packing.value);
    }
}

}  // namespace

std::vector<FoamCard> family_of(const FoamOptions& options) {
    const FoamCard card = load_card(options.card);
    std::vector<FoamCard> all;
    for (const BuiltInCard& built_in : built_in_cards()) {
        all.push_back(load_card(built_in.name));
    }
    for (const std::string& own : own_card_names()) {
        all.push_back(load_card(own));
    }
    return mixes_of(card, all);
}

bool mix_is_open(const FoamOptions& options, const std::vector<FoamCard>& family) {
    return !options.mix && family.size() > 1 && !options.shop;
}

FoamChoice choose_foam(const FoamOptions& options, const std::vector<FoamCard>& family,
                       std::optional<double> skin_share) {
    const FoamCard& named = family.front();
    check_contradictions(options, named);
    FoamChoice choice;
    choice.card = options.mix ? card_at_mix(named, family, *options.mix) : named;
    choice.basis = options.density_kg_m3
                       ? options.basis.value_or(options.overpack ? DensityBasis::free_rise
                                                                 : DensityBasis::molded)
                       : named.basis;
    choice.wanted_kg_m3 = options.density_kg_m3;
    set_skin(choice.request, options, choice.card);
    if (options.density_kg_m3 && mix_is_open(options, family)) {
        const double density = *options.density_kg_m3;
        const MixChoice mix =
            mix_here(family,
                     choice.basis == DensityBasis::molded
                         ? wanted_free_rise(options, named, choice.request, density, skin_share)
                         : density,
                     options.air_kpa);
        choice.card = mix.card;
        choice.mix_clamped = mix.clamped;
        choice.mix_chosen = true;
        set_skin(choice.request, options, choice.card);
    }
    choice.request.free_rise_kg_m3 = free_rise_here(choice.card, options.air_kpa);
    if (!options.density_kg_m3) {
        set_packing(choice.request, options, choice.card);
    } else if (choice.basis == DensityBasis::molded) {
        choice.request.molded_density_kg_m3 = options.density_kg_m3;
        if (!choice.mix_chosen) {
            choice.request.packing_factor = options.overpack;  // one too many is refused there
        }
    } else {
        // What was measured in this room stands, whatever the card says of that mix.
        if (!choice.mix_chosen || choice.mix_clamped) {
            choice.request.free_rise_kg_m3 = stated(*options.density_kg_m3);
        }
        set_packing(choice.request, options, choice.card);
    }
    return choice;
}

std::vector<KnownMix> known_mixes(const FoamOptions& options, const std::vector<FoamCard>& family) {
    std::vector<KnownMix> known;
    known.reserve(family.size());
    for (const FoamCard& card : family) {
        known.push_back({card, free_rise_here(card, options.air_kpa)});
    }
    return known;
}

std::optional<FoamChoice> other_way(const FoamOptions& options, const std::vector<FoamCard>& family,
                                    const FoamChoice& taken) {
    if (!options.density_kg_m3 || taken.basis != DensityBasis::molded || options.overpack ||
        options.shop || family.size() < 2) {
        return std::nullopt;
    }
    FoamOptions other = options;
    if (taken.mix_chosen) {
        other.mix = family.front().mix;
    } else {
        other.mix = std::nullopt;
    }
    FoamChoice way = choose_foam(other, family);
    const auto parts = [](const FoamCard& card) { return card.mix.a / card.mix.b; };
    if (std::abs(parts(way.card) / parts(taken.card) - 1.0) < 1e-3) {
        return std::nullopt;
    }
    return way;
}

}  // namespace cavigram::detail
