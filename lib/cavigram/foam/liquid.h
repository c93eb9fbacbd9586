// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/quantity.h"

namespace cavigram {

/// Density of the stirred liquid before it foams: volumes add, so 1/density = share of A / density
/// of A + share of B / density of B. checks.md E1.
///
/// \pre all > 0
[[nodiscard]] double mixed_density_kg_m3(const MixRatio& mix, double a_kg_m3, double b_kg_m3);

/// How many times its liquid volume the foam grows to: liquid density over foam density. checks.md
/// E1, E2.
[[nodiscard]] double expansion_ratio(double liquid_kg_m3, double foam_kg_m3);

}  // namespace cavigram
