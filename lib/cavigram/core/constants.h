// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace cavigram {

/// Standard gravity, exact by definition (3rd CGPM, 1901).
inline constexpr double kGravity_m_s2 = 9.80665;

/// Molar gas constant, exact (CODATA 2018).
inline constexpr double kGas_j_mol_k = 8.314462618;

/// 0 degrees Celsius on the absolute scale, exact by definition.
inline constexpr double kZeroCelsius_k = 273.15;

/// Standard atmosphere, exact by definition (ISO 2533).
inline constexpr double kAtmosphere_kpa = 101.325;

/// Density of the foam's polymer without gas: no foam is heavier. From memory.
inline constexpr double kPolymer_kg_m3 = 1100.0;

/// What 1 mm3 weighs at 1 kg/m3.
inline constexpr double kGramsPerMm3 = 1e-6;

}  // namespace cavigram
