// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/pressure.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

double air_pressure_kpa(double altitude_m) {
    if (!(altitude_m >= kLowestAltitude_m && altitude_m <= kHighestAltitude_m)) {
        throw InvalidInput(
            fmt::format("An altitude of {} m is outside what makes sense here; give {:g} to {:g} "
                        "m, or the air's pressure ({}).",
                        significant(altitude_m, 3), kLowestAltitude_m, kHighestAltitude_m,
                        setting("air-pressure")));
    }
    return kAtmosphere_kpa * std::pow(1.0 - 2.25577e-5 * altitude_m, 5.25588);
}

double free_rise_in_air_kg_m3(double free_rise_kg_m3, double known_at_kpa, double air_kpa) {
    const double gas = 1.0 / free_rise_kg_m3 - 1.0 / kPolymer_kg_m3;
    return 1.0 / (1.0 / kPolymer_kg_m3 + gas * known_at_kpa / air_kpa);
}

double gas_pressure_kpa(double free_rise_kg_m3, double molded_kg_m3, double polymer_kg_m3,
                        double air_kpa) {
    CAVIGRAM_ASSERT(free_rise_kg_m3 > 0.0 && free_rise_kg_m3 < polymer_kg_m3 &&
                    molded_kg_m3 < polymer_kg_m3);
    const double free_gas = 1.0 / free_rise_kg_m3 - 1.0 / polymer_kg_m3;
    const double held_gas = 1.0 / molded_kg_m3 - 1.0 / polymer_kg_m3;
    return std::max(0.0, air_kpa * (free_gas / held_gas - 1.0));
}

double density_at_pressure_kg_m3(double free_rise_kg_m3, double gauge_kpa, double air_kpa) {
    const double free_gas = 1.0 / free_rise_kg_m3 - 1.0 / kPolymer_kg_m3;
    return 1.0 / (1.0 / kPolymer_kg_m3 + free_gas / (1.0 + gauge_kpa / air_kpa));
}

SealedFoam sealed_foam(double cavity_mm3, double mass_g, double free_rise_kg_m3,
                       double sealed_air_mm3, double polymer_kg_m3) {
    const double polymer_mm3 = mass_g / polymer_kg_m3 * 1e6;
    const double gas_mm3 = mass_g / free_rise_kg_m3 * 1e6 - polymer_mm3;
    CAVIGRAM_ASSERT(polymer_mm3 < cavity_mm3);
    const double ratio = std::max(1.0, (gas_mm3 + sealed_air_mm3) / (cavity_mm3 - polymer_mm3));
    return {kAtmosphere_kpa * (ratio - 1.0), sealed_air_mm3 / ratio};
}

double opening_force_n(double gauge_kpa, double projected_area_mm2) {
    return gauge_kpa * projected_area_mm2 * 1e-3;
}

double strap_leg_load_n(double opening_force_n, int loops, double safety) {
    return opening_force_n * safety / (2.0 * loops);
}

}  // namespace cavigram
