// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/finish.h"

#include "cavigram/core/error.h"

namespace cavigram {

Finish finish(double area_mm2, std::optional<double> rate_g_m2, int copies) {
    CAVIGRAM_ASSERT(area_mm2 >= 0.0 && copies >= 1);
    constexpr double kSquareMetersPerMm2 = 1e-6;
    Finish result;
    result.area_mm2 = area_mm2;
    result.rate_is_guess = !rate_g_m2.has_value();
    result.rate_g_m2 = rate_g_m2.value_or(kFinish_g_m2);
    if (!(result.rate_g_m2 >= 0.0)) {
        throw InvalidInput("What the finish takes must not be negative.");
    }
    result.grams = result.rate_g_m2 * kSquareMetersPerMm2 * area_mm2;
    result.total_g = result.grams * copies;
    return result;
}

}  // namespace cavigram
