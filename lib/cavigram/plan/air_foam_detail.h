// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/foam/card.h"
#include "cavigram/plan/plan.h"

namespace cavigram::detail {

// What the air depends on of the foam. Shares are of the cavity.
struct AirFoam {
    AirBasis basis;
    double liquid_share = 0.0;           // of liquid before it rises
    double rate_share_per_s = 0.0;       // of air that leaves at the fastest of the rise
    std::optional<double> pressure_kpa;  // if no gas leaks; none: free rise is not known
};

// From the card and the wish for a density alone, since no skin is needed for it; where the foam is
// weighed too, from that, so that both agree. \throw InvalidInput for a mean as dense as the skin,
// a rise that ends before it begins, or a temperature too far from the card's
AirFoam air_foam(const FoamCard& card, const FoamOptions& options,
                 std::optional<double> temperature_c, const FoamBlock* weighed);

// The fastest that a foam drives air out of a cavity, in cavities a second. It takes rise_s from
// the end of the work time until it has risen. \pre expansion > 1, packing and rise above 0
double air_rate_share_per_s(double expansion, double rise_s, double packing);

}  // namespace cavigram::detail
