// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/liquid.h"

namespace cavigram {

double mixed_density_kg_m3(const MixRatio& mix, double a_kg_m3, double b_kg_m3) {
    return (mix.a + mix.b) / (mix.a / a_kg_m3 + mix.b / b_kg_m3);
}

double expansion_ratio(double liquid_kg_m3, double foam_kg_m3) {
    return liquid_kg_m3 / foam_kg_m3;
}

}  // namespace cavigram
