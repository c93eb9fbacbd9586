// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

namespace cavigram {

/// Dusted pigment or paint that a surface takes unless the shop says otherwise: about a brushed
/// coat of thin paint. A guess; common practice, no source. Weigh one part before and after.
inline constexpr double kFinish_g_m2 = 30.0;

/// What finishing takes: pigment dusted on, or paint.
struct Finish {
    double area_mm2 = 0.0;      ///< Of one part.
    double rate_g_m2 = 0.0;     ///< What the surface takes.
    double grams = 0.0;         ///< For one part,
    double total_g = 0.0;       ///< and for all copies.
    bool rate_is_guess = true;  ///< No rate was given.
};

/// Grams for finishing the whole surface of a part, inner walls of hollow parts included.
///
/// \pre area_mm2 >= 0, copies >= 1.
///
/// \throw InvalidInput for a rate below 0
[[nodiscard]] Finish finish(double area_mm2, std::optional<double> rate_g_m2, int copies = 1);

}  // namespace cavigram
