// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/foam/foam_mass.h"

/// Cavities whose depth-volume curve has a closed form (checks.md 9.2, inner parallel bodies).
namespace closed_forms {

inline cavigram::CavityAmounts cavity(double volume_mm3, double deepest_mm,
                                      const cavigram::DepthVolumeCurve& inner) {
    cavigram::CavityAmounts amounts;
    amounts.volume_mm3 = amounts.volume_low_mm3 = amounts.volume_high_mm3 = volume_mm3;
    amounts.deepest_mm = deepest_mm;
    amounts.skin_curve = [=](double d) {
        return d >= deepest_mm ? volume_mm3 : volume_mm3 - inner(d);
    };
    return amounts;
}

inline cavigram::CavityAmounts box(double a, double b, double c) {
    return cavity(a * b * c, std::min({a, b, c}) / 2,
                  [=](double d) { return (a - 2 * d) * (b - 2 * d) * (c - 2 * d); });
}

inline cavigram::CavityAmounts sphere(double r) {
    return cavity(4.0 / 3.0 * std::numbers::pi * r * r * r, r,
                  [=](double d) { return 4.0 / 3.0 * std::numbers::pi * std::pow(r - d, 3); });
}

inline cavigram::CavityAmounts cylinder(double r, double h) {
    return cavity(std::numbers::pi * r * r * h, std::min(r, h / 2),
                  [=](double d) { return std::numbers::pi * (r - d) * (r - d) * (h - 2 * d); });
}

/// A wall of unit area and thickness 2h, both faces skinned.
inline cavigram::CavityAmounts slab(double h) {
    return cavity(2 * h, h, [=](double d) { return 2 * (h - d); });
}

}  // namespace closed_forms
