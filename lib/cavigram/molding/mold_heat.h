// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace cavigram {

/// How much larger a freely warmed piece of rubber gets.
struct FreeExpansion {
    double linear_share = 0.0;  ///< Each length.
    double volume_share = 0.0;  ///< Its volume, exactly: (1 + linear)^3 - 1.
};

/// Expansion by warmth; a jacket keeps rubber from it, which then swells into the cavity instead.
/// docs/checks.md R5.
[[nodiscard]] FreeExpansion free_expansion(double expansion_per_k, double warmer_k);

/// How heat runs in a body.
struct HeatRun {
    double conductivity_w_mk = 0.0;  ///< Above 0.
    double density_kg_m3 = 0.0;      ///< Above 0.
    double capacity_j_kgk = 0.0;     ///< Per mass, above 0.

    /// How fast warmth spreads, in mm2/s.
    [[nodiscard]] double diffusivity_mm2_s() const;
    /// What a body brings to a contact: root of conductivity, density and capacity, SI units.
    [[nodiscard]] double effusivity() const;
};

/// About how long it takes until a wall that is warmed from one side is warm throughout: thickness
/// squared over diffusivity. An order of magnitude. docs/checks.md R6.
[[nodiscard]] double heat_soak_s(double thickness_mm, const HeatRun& wall);

/// Temperature at which two thick bodies meet, as long as neither is warmed through: the mean
/// weighted by effusivity (the textbook case of two half spaces). docs/checks.md R7.
[[nodiscard]] double contact_temperature_c(const HeatRun& first, double first_c,
                                           const HeatRun& second, double second_c);

}  // namespace cavigram
