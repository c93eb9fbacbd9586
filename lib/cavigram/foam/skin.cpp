// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/skin.h"

#include <algorithm>
#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/foam/gauss_legendre_detail.h"

namespace cavigram {

namespace {

// exp(-40) is 4e-18: below that nothing is added.
constexpr double kLongestDecay = 40.0;

}  // namespace

const char* to_text(SkinProfile profile) {
    return profile == SkinProfile::step ? "step" : "exponential";
}

double effective_skin_volume_mm3(const DepthVolumeCurve& curve, double deepest_mm,
                                 SkinProfile profile, double thickness_mm) {
    CAVIGRAM_ASSERT(thickness_mm >= 0.0 && deepest_mm > 0.0);
    if (thickness_mm == 0.0) {
        return 0.0;
    }
    if (profile == SkinProfile::step) {
        return curve(std::min(thickness_mm, deepest_mm));
    }
    const double end = std::min(deepest_mm, kLongestDecay * thickness_mm);
    const int panels = std::max(8, static_cast<int>(std::ceil(2.0 * end / thickness_mm)));
    const double half = 0.5 * end / panels;
    double integral = 0.0;
    for (int panel = 0; panel < panels; ++panel) {
        integral += detail::gauss_legendre(2 * panel * half, (2 * panel + 2) * half, [&](double s) {
            return std::exp(-s / thickness_mm) * curve(s);
        });
    }
    return integral / thickness_mm + curve(end) * std::exp(-end / thickness_mm);
}

double thickness_for_skin_volume_mm(const DepthVolumeCurve& curve, double deepest_mm,
                                    SkinProfile profile, double volume_mm3) {
    double low = 0.0;
    double high = profile == SkinProfile::step ? deepest_mm : 1000.0 * deepest_mm;
    if (effective_skin_volume_mm3(curve, deepest_mm, profile, high) <= volume_mm3) {
        return high;
    }
    while (high - low > 1e-12 * deepest_mm && low + 0.5 * (high - low) > low) {
        const double middle = low + 0.5 * (high - low);
        (effective_skin_volume_mm3(curve, deepest_mm, profile, middle) < volume_mm3 ? low : high) =
            middle;
    }
    return 0.5 * (low + high);
}

}  // namespace cavigram
