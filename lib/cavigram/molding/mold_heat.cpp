// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/mold_heat.h"

#include <cmath>

namespace cavigram {

FreeExpansion free_expansion(double expansion_per_k, double warmer_k) {
    const double linear = expansion_per_k * warmer_k;
    return {linear, (1.0 + linear) * (1.0 + linear) * (1.0 + linear) - 1.0};
}

double HeatRun::diffusivity_mm2_s() const {
    constexpr double kMm2PerM2 = 1e6;
    return kMm2PerM2 * conductivity_w_mk / (density_kg_m3 * capacity_j_kgk);
}

double HeatRun::effusivity() const {
    return std::sqrt(conductivity_w_mk * density_kg_m3 * capacity_j_kgk);
}

double heat_soak_s(double thickness_mm, const HeatRun& wall) {
    return thickness_mm * thickness_mm / wall.diffusivity_mm2_s();
}

double contact_temperature_c(const HeatRun& first, double first_c, const HeatRun& second,
                             double second_c) {
    const double e1 = first.effusivity();
    const double e2 = second.effusivity();
    return (e1 * first_c + e2 * second_c) / (e1 + e2);
}

}  // namespace cavigram
