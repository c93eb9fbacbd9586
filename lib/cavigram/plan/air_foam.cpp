// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/foam/kinetics.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/pressure.h"
#include "cavigram/plan/air_foam_detail.h"

namespace cavigram::detail {

namespace {

// What a mix is packed to where nothing else is said: enough to fill although the foam may rise a
// tenth less than its card says. From memory.
constexpr double kPacking = 1.15;

constexpr double kPolymer_kg_m3 = 1100.0;  // gas-free polymer; from memory

// A mean this little below free rise still counts as filling the mold.
constexpr double kFills = 0.98;

// Mean and free-rise density, as wished. Free rise is empty where nothing tells it.
struct Densities {
    double mean_kg_m3 = 0.0;
    std::optional<double> free_rise_kg_m3;
};

Densities wished(const FoamCard& card, const FoamOptions& options) {
    const bool own = options.density_kg_m3.has_value();
    const DensityBasis basis =
        !own ? card.basis
             : options.basis.value_or(options.overpack ? DensityBasis::free_rise
                                                       : DensityBasis::molded);
    const double density = own ? *options.density_kg_m3 : card.density_kg_m3.value;
    if (basis != DensityBasis::molded) {
        // The core of a packed foam is as dense as the foam that rose freely: what is more goes
        // into the skin.
        return {density * options.overpack.value_or(kPacking), density};
    }
    if (card.basis == DensityBasis::molded) {
        return {density, std::nullopt};
    }
    return {density, card.density_kg_m3.value};
}

Densities weighed_densities(const FoamCard& card, const FoamOptions& options,
                            const FoamMass& mass) {
    Densities found = wished(card, options);
    found.mean_kg_m3 = mass.molded_density_kg_m3;
    if (mass.packing_factor) {
        found.free_rise_kg_m3 = mass.molded_density_kg_m3 / *mass.packing_factor;
    }
    return found;
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

AirFoam air_foam(const FoamCard& card, const FoamOptions& options,
                 std::optional<double> temperature_c, const FoamBlock* weighed) {
    const Densities densities = weighed != nullptr ? weighed_densities(card, options, weighed->mass)
                                                   : wished(card, options);
    const double mean = densities.mean_kg_m3;
    const double most = options.skin_density_kg_m3.value_or(card.skin_density_kg_m3.value);
    if (weighed == nullptr && mean >= most) {
        throw InvalidInput(
            format("A mean of %s kg/m3 is no less than the skin's %s kg/m3; give a --density "
                   "below that.",
                   significant(mean, 3).c_str(), significant(most, 3).c_str()));
    }
    if (weighed == nullptr && densities.free_rise_kg_m3 &&
        mean < kFills * *densities.free_rise_kg_m3) {
        throw InvalidInput(format(
            "A mean of %s kg/m3 does not fill the mold with a foam that rises freely to %s; "
            "give that --density or more, or another --mix.",
            significant(mean, 3).c_str(), significant(*densities.free_rise_kg_m3, 3).c_str()));
    }
    if (card.rise_time_s <= card.work_time_s) {
        throw InvalidInput(
            format("The card %s has the foam risen after %s s and workable for %s s, both from the "
                   "start of stirring; correct one of these times.",
                   card.name.c_str(), significant(card.rise_time_s, 3).c_str(),
                   significant(card.work_time_s, 3).c_str()));
    }
    AirFoam foam;
    foam.basis.card = card.name;
    foam.basis.temperature_c = temperature_c.value_or(card.at_c);
    foam.basis.free_rise_kg_m3 = densities.free_rise_kg_m3;
    // Where free rise is not known, the foam is taken to just fill.
    const double free_rise = densities.free_rise_kg_m3.value_or(mean);
    foam.basis.packing_factor = mean / free_rise;
    const double liquid = mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    foam.liquid_share = mean / liquid;
    const double rise_s = time_at_temperature_s(card.rise_time_s - card.work_time_s, card.at_c,
                                                foam.basis.temperature_c, card.rule);
    constexpr double kLeastExpansion = 1.1;  // a foam that hardly rises still drives some air out
    foam.rate_share_per_s =
        air_rate_share_per_s(std::max(kLeastExpansion, expansion_ratio(liquid, free_rise)), rise_s,
                             foam.basis.packing_factor);
    if (weighed != nullptr) {
        foam.liquid_share = weighed->liquid_share;
        foam.pressure_kpa = weighed->pressure_upper_kpa;
    } else if (densities.free_rise_kg_m3 && mean < kPolymer_kg_m3 && free_rise < kPolymer_kg_m3) {
        foam.pressure_kpa = gas_pressure_kpa(free_rise, mean, kPolymer_kg_m3);
    }
    return foam;
}

}  // namespace cavigram::detail
