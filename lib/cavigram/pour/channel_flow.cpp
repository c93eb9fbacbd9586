// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/channel_flow.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"

namespace cavigram {

double duct_permeability_mm2(double side_mm, double other_side_mm) {
    const double h = std::min(side_mm, other_side_mm);
    const double b = std::max(side_mm, other_side_mm);
    if (!(h > 0.0) || !std::isfinite(b)) {
        throw InvalidInput("A duct has two sides above 0; give both.");
    }
    // K = h^2/12 (1 - 192 h/(pi^5 b) sum over odd n of tanh(n pi b/(2 h))/n^5). The terms fall as
    // n^-5: at n = 999 what is left out is below 1e-13 of the sum.
    double sum = 0.0;
    constexpr int kTerms = 999;
    for (int n = kTerms; n >= 1; n -= 2) {
        sum += std::tanh(n * std::numbers::pi * b / (2.0 * h)) / std::pow(n, 5);
    }
    return plate_permeability_mm2(h) *
           (1.0 - 192.0 * h / (std::pow(std::numbers::pi, 5) * b) * sum);
}

double local_permeability_mm2(double gap_mm, double walls_over_volume) {
    // Straight from 1 at plates (2) to 12/32 at a tube (4).
    const double rodlike = (std::clamp(walls_over_volume, 2.0, 4.0) - 2.0) / 2.0;
    return plate_permeability_mm2(gap_mm) * (1.0 - (1.0 - 12.0 / 32.0) * rodlike);
}

double hole_conductance_mm3(double diameter_mm, double length_mm) {
    return std::numbers::pi * std::pow(diameter_mm, 4) / (128.0 * length_mm);
}

}  // namespace cavigram
