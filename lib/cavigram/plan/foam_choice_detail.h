// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/foam/card.h"
#include "cavigram/foam/foam_mass.h"
#include "cavigram/plan/plan.h"

namespace cavigram::detail {

// The mix that the options ask for or that a density chooses, and what is asked of it.
struct FoamChoice {
    FoamCard card;
    FoamRequest request;
    DensityBasis basis = DensityBasis::molded;  // what the wanted density is the density of
    std::optional<double> wanted_kg_m3;
    bool mix_chosen = false;   // by the density, not by the options
    bool mix_clamped = false;  // the foam has no mix that light or that dense
};

// The card that the options name, and all cards of its family, itself first.
std::vector<FoamCard> family_of(const FoamOptions& options);

// Settles mix and request. `skin_share`: what a measured skin takes of the cavity, once that is
// known; it decides the mix for a density better than the packing does.
// \throw InvalidInput where options contradict
FoamChoice choose_foam(const FoamOptions& options, const std::vector<FoamCard>& family,
                       std::optional<double> skin_share = std::nullopt);

// The foam's known mixes, the named one first.
std::vector<KnownMix> known_mixes(const FoamOptions& options, const std::vector<FoamCard>& family);

// Whether a density of the finished part would choose the mix.
bool mix_is_open(const FoamOptions& options, const std::vector<FoamCard>& family);

// The same density the other way: with the card's own mix where the density chose one, with the mix
// for the density where one was fixed. None where there is no other way.
std::optional<FoamChoice> other_way(const FoamOptions& options, const std::vector<FoamCard>& family,
                                    const FoamChoice& taken);

}  // namespace cavigram::detail
