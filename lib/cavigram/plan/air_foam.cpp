// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"
#include "cavigram/foam/kinetics.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/plan/air_foam_detail.h"

namespace cavigram::detail {

namespace {

double mean_of(const FoamChoice& choice) {
    const FoamRequest& request = choice.request;
    return request.molded_density_kg_m3.value_or(
        request.free_rise_kg_m3.value * request.packing_factor.value_or(choice.card.packing.value));
}

}  // namespace

// Left alone the foam would grow to Vf = P V, P the packing factor and V the cavity, along V(t)/Vf
// = s(t) = exp(-b exp(-c t)) from the end of the work time on (foam/kinetics), so ds/dt = c s (-ln
// s). It drives air out as fast as it grows, until it fills the cavity: from the liquid's share s0
// = exp(-b) to s1 = 1/P. s (-ln s) climbs up to s = 1/e and falls from there, so within s0 and s1
// it is largest at the place nearest to 1/e, and the air leaves with c P s (-ln s) cavities a
// second.
double air_rate_share_per_s(double expansion, double rise_s, double packing) {
    const GompertzRise rise(expansion, rise_s);
    const double first = 1.0 / expansion;
    const double last = std::max(first, std::min(1.0, 1.0 / packing));
    const double fastest = std::clamp(1.0 / std::numbers::e, first, last);
    return rise.c_per_s() * packing * fastest * -std::log(fastest);
}

AirFoam air_foam(const FoamCard& card, const FoamInMold& mold) {
    if (card.rise_time_s <= card.work_time_s) {
        throw InvalidInput(fmt::format(
            "The card {} has the foam risen after {} s and workable for {} s, both from the "
            "start of stirring; correct one of these times.",
            card.name, significant(card.rise_time_s, 3), significant(card.work_time_s, 3)));
    }
    AirFoam foam;
    foam.basis.card = card.name;
    foam.basis.temperature_c = mold.temperature_c.value_or(card.at_c);
    foam.basis.free_rise_kg_m3 = mold.free_rise_kg_m3;
    foam.basis.packing_factor = mold.mean_kg_m3 / mold.free_rise_kg_m3;
    const double liquid = mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    foam.liquid_share = mold.mean_kg_m3 / liquid;
    const double rise_s = time_at_temperature_s(card.rise_time_s - card.work_time_s, card.at_c,
                                                foam.basis.temperature_c, card.rule);
    constexpr double kLeastExpansion = 1.1;  // a foam that hardly rises still drives some air out
    foam.rate_share_per_s = air_rate_share_per_s(
        std::max(kLeastExpansion, expansion_ratio(liquid, mold.free_rise_kg_m3)), rise_s,
        foam.basis.packing_factor);
    const double densest = kPolymer_kg_m3 * (1.0 - 1e-9);
    foam.pressure_kpa =
        gas_pressure_kpa(std::min(mold.free_rise_kg_m3, densest),
                         std::min(mold.mean_kg_m3, densest), kPolymer_kg_m3, mold.air_kpa);
    return foam;
}

AirFoam air_foam_of(const FoamBlock& weighed, std::optional<double> temperature_c) {
    return air_foam(weighed.card, {.mean_kg_m3 = weighed.mass.molded_density_kg_m3,
                                   .free_rise_kg_m3 = weighed.mass.free_rise_kg_m3,
                                   .air_kpa = weighed.air_kpa,
                                   .temperature_c = temperature_c});
}

AirFoam air_foam_of(const FoamChoice& choice, double air_kpa, std::optional<double> temperature_c) {
    return air_foam(choice.card, {.mean_kg_m3 = mean_of(choice),
                                  .free_rise_kg_m3 = choice.request.free_rise_kg_m3.value,
                                  .air_kpa = air_kpa,
                                  .temperature_c = temperature_c});
}

void refuse_unfit(const FoamChoice& choice) {
    const double mean = mean_of(choice);
    const double most = choice.request.skin_density_kg_m3.value;
    const double least = choice.request.free_rise_kg_m3.value;
    if (mean >= most) {
        throw InvalidInput(
            fmt::format("A mean of {} is no less than the skin's {}; give a {} below that.",
                        told_own(mean, Kind::density, 3), told_own(most, Kind::density, 3),
                        setting("density")));
    }
    if (mean < least * (1.0 - 1e-9)) {
        throw InvalidInput(fmt::format(
            "A mean of {} does not fill the mold with a foam that rises freely to {}; give that {} "
            "or more, or another {}.",
            told_own(mean, Kind::density, 3), told_own(least, Kind::density, 3), setting("density"),
            setting("mix")));
    }
}

}  // namespace cavigram::detail
