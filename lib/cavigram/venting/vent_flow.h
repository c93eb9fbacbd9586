// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

namespace cavigram {

/// What flows.
struct Fluid {
    double density_kg_m3 = 0.0;   ///< Above 0.
    double viscosity_pa_s = 0.0;  ///< Dynamic, above 0.
};

/// Air at 20 C and 101.325 kPa. Below a drop of 5 kPa it flows as if it could not be squeezed.
inline constexpr Fluid kAir{1.204, 1.81e-5};

/// A round hole through a wall.
struct Hole {
    double diameter_mm = 0.0;  ///< Above 0.
    double length_mm = 0.0;    ///< Thickness of the wall.
    /// Share of the ideal jet that passes a sharp edge: 0.60 to 0.62; a short tube has about 0.8.
    double discharge = 0.61;
};

/// Whether the creeping flow into and out of the hole counts too.
enum class EndLoss {
    none,
    creeping,  ///< Sampson, Philos. Trans. R. Soc. A 182 (1891) 449, added to the tube's own loss.
};

// All of these: \pre sizes, densities and viscosities above 0, drops and flows not negative. O(1).

/// Weight of a column of liquid on its foot. Standard gravity, 9.80665 m/s2.
[[nodiscard]] double column_pressure_kpa(double density_kg_m3, double height_mm);

/// Jet through a thin sharp hole, Q = C A sqrt(2 dp / rho). Right for air and water, far too much
/// for thick liquids: check that reynolds() is above 1000.
[[nodiscard]] double orifice_flow_ml_s(const Hole& hole, const Fluid& fluid, double drop_kpa);

/// Slow flow through a tube (Hagen-Poiseuille), Q = pi d^4 dp / (128 mu L), with or without the
/// ends.
[[nodiscard]] double laminar_flow_ml_s(const Hole& hole, const Fluid& fluid, double drop_kpa,
                                       EndLoss ends = EndLoss::none);

/// Flow with all losses together: the sum of slow and jet losses is set equal to the drop,
/// dp = Q mu (128 L / (pi d^4) + 24 / d^3) + rho/2 (Q / (C A))^2. Derived, exact in both limits.
[[nodiscard]] double hole_flow_ml_s(const Hole& hole, const Fluid& fluid, double drop_kpa,
                                    EndLoss ends = EndLoss::creeping);

/// The drop that a flow needs; the inverse of hole_flow_ml_s.
[[nodiscard]] double hole_drop_kpa(const Hole& hole, const Fluid& fluid, double flow_ml_s,
                                   EndLoss ends = EndLoss::creeping);

/// Reynolds number of a flow in the hole, 4 rho Q / (pi mu d). Laminar below about 2000.
[[nodiscard]] double reynolds(const Hole& hole, const Fluid& fluid, double flow_ml_s);

/// The diameter at which a flow needs just this drop.
///
/// \pre flow and drop above 0
[[nodiscard]] double hole_diameter_mm(double flow_ml_s, double length_mm, const Fluid& fluid,
                                      double drop_kpa, EndLoss ends = EndLoss::none,
                                      double discharge = 0.61);

/// Flow of a liquid through a pour hole under the liquid that stands above it; the liquid in the
/// hole itself pulls too.
[[nodiscard]] double pour_flow_ml_s(const Hole& hole, const Fluid& fluid, double liquid_above_mm);

/// What a vent must carry, and how it is drilled.
struct VentSizeOptions {
    double growth_ml_s = 0.0;    ///< How fast the foam grows: the air that must leave. Above 0.
    double length_mm = 20.0;     ///< Length of the vent: the mold's wall.
    double drop_kpa = 0.1;       ///< Back-pressure that is allowed: that of 80 mm of foam.
    double least_mm = 2.0;       ///< Thinner vents clog (common practice, no source).
    double drill_step_mm = 0.5;  ///< Drills come in such steps (common practice, no source).
};

/// The width that a vent needs.
struct VentSize {
    double flow_ml_s = 0.0;    ///< Air through each vent.
    double diameter_mm = 0.0;  ///< At which it needs just the allowed drop.
    double drill_mm = 0.0;     ///< The next drill up, and no less than the least.
    double alone_mm = 0.0;  ///< Diameter if one vent had to pass all the air, as the last one open.
    double drop_kpa = 0.0;  ///< Back-pressure at the drilled size.
};

/// The size of `count` equal vents that share the air evenly.
///
/// \throw InvalidInput for a count of 0 or an option out of range
[[nodiscard]] VentSize vent_size(std::size_t count, const VentSizeOptions& options);

}  // namespace cavigram
