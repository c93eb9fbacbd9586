// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/color_map.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace cavigram {

Rgb viridis(double share) {
    static constexpr std::array<Rgb, 9> kKnots = {{{68, 1, 84},
                                                   {71, 45, 123},
                                                   {59, 82, 139},
                                                   {44, 114, 142},
                                                   {33, 145, 140},
                                                   {40, 174, 128},
                                                   {94, 201, 98},
                                                   {173, 220, 48},
                                                   {253, 231, 37}}};
    const double at = std::clamp(share, 0.0, 1.0) * (kKnots.size() - 1);
    const auto below = std::min(static_cast<std::size_t>(at), kKnots.size() - 2);
    Rgb color{};
    for (std::size_t i = 0; i < 3; ++i) {
        const double from = kKnots[below][i];
        const double to = kKnots[below + 1][i];
        color[i] = static_cast<std::uint8_t>(
            std::lround(std::lerp(from, to, at - static_cast<double>(below))));
    }
    return color;
}

}  // namespace cavigram
