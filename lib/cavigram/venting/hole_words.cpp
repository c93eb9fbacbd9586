// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/hole_words.h"

#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

std::string hole_words(const Box3& bounds_mm, const Vec3& place_mm) {
    CAVIGRAM_ASSERT(!bounds_mm.empty());
    constexpr double kAtEnd_mm = 0.5;
    constexpr double kMiddleShare = 0.01;
    std::string words;
    for (int axis = 0; axis < 3; ++axis) {
        const double low = place_mm[axis] - bounds_mm.min[axis];
        const double high = bounds_mm.max[axis] - place_mm[axis];
        const char name = "xyz"[axis];
        const char sign = low < high ? '-' : '+';
        const double near = low < high ? low : high;
        words += words.empty() ? "" : ", ";
        if (near <= kAtEnd_mm) {
            words += format("at the %c%c end", sign, name);
        } else if (std::abs(low - high) <= kMiddleShare * (low + high)) {
            words += format("in the middle of %c", name);
        } else {
            words += format("%s mm from the %c%c end",
                            significant(near, near < 10.0 ? 2 : 3).c_str(), sign, name);
        }
    }
    return words;
}

}  // namespace cavigram
