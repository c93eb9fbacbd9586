// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/iso_index.h"

namespace cavigram {

double isocyanate_equivalent_weight(double nco_percent) {
    return 4202.0 / nco_percent;
}

double polyol_equivalent_weight(double hydroxyl_number) {
    return 56100.0 / hydroxyl_number;
}

double balanced_parts_of_a(const std::vector<ActiveIngredient>& b, double nco_percent) {
    double equivalents = 0.0;
    for (const ActiveIngredient& ingredient : b) {
        equivalents += ingredient.parts / ingredient.equivalent_weight;
    }
    return equivalents * isocyanate_equivalent_weight(nco_percent);
}

double isocyanate_index(const MixRatio& mix, const std::vector<ActiveIngredient>& b,
                        double nco_percent) {
    return 100.0 * mix.a / (balanced_parts_of_a(b, nco_percent) * mix.b / 100.0);
}

}  // namespace cavigram
