// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

namespace cavigram {

/// Permeability of a channel: what its mean flow speed is times viscosity over the pressure
/// gradient, u = (K/mu) dp/dx, for slow flow. mm2 for widths in mm.
///
/// Between parallel plates h apart: h^2/12. docs/checks.md F0
///
/// \pre gap >= 0
[[nodiscard]] constexpr double plate_permeability_mm2(double gap_mm) {
    return gap_mm * gap_mm / 12.0;
}

/// Of a round tube: d^2/32 (Hagen and Poiseuille).
[[nodiscard]] constexpr double tube_permeability_mm2(double diameter_mm) {
    return diameter_mm * diameter_mm / 32.0;
}

/// Of a rectangular duct, by Boussinesq's series to rounding. docs/checks.md F0
///
/// \throw InvalidInput unless both sides are above 0
[[nodiscard]] double duct_permeability_mm2(double side_mm, double other_side_mm);

/// Of a place in a cavity of which two things are known: the widest ball that fits there, of
/// diameter `gap_mm`, and gap times wall area over volume around it, which is 2 between plates, 4
/// in a tube and in a square duct, and 2 (1 + h/b) in a duct of sides h < b. Straight between the
/// plates' and the tube's value: exact there, within 13 % for every rectangle. Outside 2 to 4 as at
/// these ends.
///
/// \pre gap >= 0
[[nodiscard]] double local_permeability_mm2(double gap_mm, double walls_over_volume);

/// Of a round hole through a wall: volume flow times viscosity over pressure, pi d^4/(128 L), in
/// mm3.
///
/// \pre length > 0
[[nodiscard]] double hole_conductance_mm3(double diameter_mm, double length_mm);

}  // namespace cavigram
