// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/constants.h"

namespace cavigram {

/// Altitudes for which air_pressure_kpa answers: where people work.
inline constexpr double kLowestAltitude_m = -500.0;
inline constexpr double kHighestAltitude_m = 6000.0;

/// Air pressure at an altitude in the standard atmosphere, 101.325 (1 - 2.25577e-5 h)^5.25588 (ISO
/// 2533).
///
/// \throw InvalidInput outside kLowestAltitude_m to kHighestAltitude_m
[[nodiscard]] double air_pressure_kpa(double altitude_m);

/// Free-rise density in other air: each kilogram's gas, 1/density - 1/polymer, grows as 1/pressure
/// (Boyle). foam_model.md 3.
///
/// \pre all above 0, density below the polymer's
[[nodiscard]] double free_rise_in_air_kg_m3(double free_rise_kg_m3, double known_at_kpa,
                                            double air_kpa);

/// Gauge pressure of foam that would rise to `free_rise` but is held at `molded` density, if no gas
/// leaked and its temperature stayed: the gas of each kilogram, 1/density - 1/polymer, is squeezed
/// from one to the other (Boyle). An estimate: foam still hot presses T/T_ref as much, foam that
/// opens its cells and leaks less. 0 when molded <= free-rise: the mold is not filled. checks.md
/// E4, E5.
///
/// \pre 0 < free_rise, molded < polymer density
[[nodiscard]] double gas_pressure_kpa(double free_rise_kg_m3, double molded_kg_m3,
                                      double polymer_kg_m3 = kPolymer_kg_m3,
                                      double air_kpa = kAtmosphere_kpa);

/// The inverse: the molded density at which the foam presses with `gauge_kpa`.
///
/// \pre gauge >= 0
[[nodiscard]] double density_at_pressure_kg_m3(double free_rise_kg_m3, double gauge_kpa,
                                               double air_kpa = kAtmosphere_kpa);

/// The same where air was sealed in with the foam and shares its pressure: p/p0 = (gas +
/// air)/(cavity - polymer), each at atmospheric pressure.
struct SealedFoam {
    double gauge_kpa = 0.0;   ///< Above the room's air.
    double pocket_mm3 = 0.0;  ///< What the sealed air shrinks to.
};
/// checks.md E6.
///
/// \pre the polymer alone fits the cavity. Never below atmospheric.
[[nodiscard]] SealedFoam sealed_foam(double cavity_mm3, double mass_g, double free_rise_kg_m3,
                                     double sealed_air_mm3, double polymer_kg_m3 = kPolymer_kg_m3);

/// Force that opens a mold: pressure times the area projected on the parting plane (not the
/// surface). checks.md E7, E9.
[[nodiscard]] double opening_force_n(double gauge_kpa, double projected_area_mm2);

/// Load on each leg of `loops` strap loops, two legs a loop, with a safety factor. checks.md E7.
///
/// \pre loops >= 1
[[nodiscard]] double strap_leg_load_n(double opening_force_n, int loops, double safety = 3.0);

}  // namespace cavigram
