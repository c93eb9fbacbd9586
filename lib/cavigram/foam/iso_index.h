// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/quantity.h"

namespace cavigram {

/// One active ingredient of part B, in parts by weight for each 100 parts of B.
struct ActiveIngredient {
    double parts = 0.0;              ///< By weight.
    double equivalent_weight = 0.0;  ///< Grams for each mole of active hydrogen: 56100/OH number
                                     ///< for a polyol, 9.0075 for water.
};

/// Equivalent weight of an isocyanate from its NCO content: 4202 / percent (checks.md N1).
[[nodiscard]] double isocyanate_equivalent_weight(double nco_percent);
/// Equivalent weight of a polyol from its hydroxyl number in mg KOH/g: 56100 / number.
[[nodiscard]] double polyol_equivalent_weight(double hydroxyl_number);

/// Parts of A that meet all active hydrogen in 100 parts of B one to one (checks.md N2).
[[nodiscard]] double balanced_parts_of_a(const std::vector<ActiveIngredient>& b,
                                         double nco_percent);

/// Isocyanate index: 100 times the A that is used over the A that would balance. Only from data of
/// the user's own liquids. checks.md N2, N3
[[nodiscard]] double isocyanate_index(const MixRatio& mix, const std::vector<ActiveIngredient>& b,
                                      double nco_percent);

}  // namespace cavigram
