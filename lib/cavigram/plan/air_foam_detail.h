// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/foam/card.h"
#include "cavigram/plan/foam_choice_detail.h"
#include "cavigram/plan/plan.h"

namespace cavigram::detail {

// What the air depends on of the foam. Shares are of the cavity.
struct AirFoam {
    AirBasis basis;
    double liquid_share = 0.0;      // of liquid before it rises
    double rate_share_per_s = 0.0;  // of air that leaves at the fastest of the rise
    double pressure_kpa = 0.0;      // about what the foam presses with at the end
};

// A foam in a mold, as far as the air is concerned: no skin is needed for it.
struct FoamInMold {
    double mean_kg_m3 = 0.0;
    double free_rise_kg_m3 = 0.0;
    double air_kpa = kAtmosphere_kpa;
    std::optional<double> temperature_c;  // none: the card's own
};

// \throw InvalidInput for a rise that ends before it begins, or a temperature too far from the
// card's
AirFoam air_foam(const FoamCard& card, const FoamInMold& mold);
// Where the foam is weighed too, from that, so that both agree;
AirFoam air_foam_of(const FoamBlock& weighed, std::optional<double> temperature_c);
// where it is not, from what was chosen: a measured skin alone counts as the card's packing.
AirFoam air_foam_of(const FoamChoice& choice, double air_kpa, std::optional<double> temperature_c);

// What weighing would refuse of a choice, for commands that don't weigh. \throw InvalidInput for a
// mean as dense as the skin, or below free rise
void refuse_unfit(const FoamChoice& choice);

// The fastest that a foam drives air out of a cavity, in cavities a second. It takes rise_s from
// the end of the work time until it has risen. \pre expansion > 1, packing and rise above 0
double air_rate_share_per_s(double expansion, double rise_s, double packing);

}  // namespace cavigram::detail
