// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/vent_flow.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"

namespace cavigram {

using std::numbers::pi;

namespace {

constexpr double kMeter = 1e-3;       // per mm
constexpr double kPascal = 1e3;       // per kPa
constexpr double kCubicMeter = 1e-6;  // per mL

double area_m2(const Hole& hole) {
    const double d = hole.diameter_mm * kMeter;
    return pi * d * d / 4.0;
}

// Drop for each m3/s of slow flow, Pa s/m3.
double slow_resistance(const Hole& hole, const Fluid& fluid, EndLoss ends) {
    const double d = hole.diameter_mm * kMeter;
    const double tube = 128.0 * hole.length_mm * kMeter / (pi * d * d * d * d);
    return fluid.viscosity_pa_s * (tube + (ends == EndLoss::creeping ? 24.0 / (d * d * d) : 0.0));
}

// Drop for each (m3/s)^2 of the jet.
double jet_resistance(const Hole& hole, const Fluid& fluid) {
    const double area = hole.discharge * area_m2(hole);
    return 0.5 * fluid.density_kg_m3 / (area * area);
}

}  // namespace

double column_pressure_kpa(double density_kg_m3, double height_mm) {
    return density_kg_m3 * kGravity_m_s2 * height_mm * kMeter / kPascal;
}

double orifice_flow_ml_s(const Hole& hole, const Fluid& fluid, double drop_kpa) {
    return std::sqrt(drop_kpa * kPascal / jet_resistance(hole, fluid)) / kCubicMeter;
}

double laminar_flow_ml_s(const Hole& hole, const Fluid& fluid, double drop_kpa, EndLoss ends) {
    return drop_kpa * kPascal / slow_resistance(hole, fluid, ends) / kCubicMeter;
}

double hole_flow_ml_s(const Hole& hole, const Fluid& fluid, double drop_kpa, EndLoss ends) {
    // jet Q^2 + slow Q - drop = 0; this form of the root loses no digits when one loss is small.
    const double slow = slow_resistance(hole, fluid, ends);
    const double jet = jet_resistance(hole, fluid);
    const double drop = drop_kpa * kPascal;
    return 2.0 * drop / (slow + std::sqrt(slow * slow + 4.0 * jet * drop)) / kCubicMeter;
}

double hole_drop_kpa(const Hole& hole, const Fluid& fluid, double flow_ml_s, EndLoss ends) {
    const double flow = flow_ml_s * kCubicMeter;
    return flow * (slow_resistance(hole, fluid, ends) + flow * jet_resistance(hole, fluid)) /
           kPascal;
}

double reynolds(const Hole& hole, const Fluid& fluid, double flow_ml_s) {
    return 4.0 * fluid.density_kg_m3 * flow_ml_s * kCubicMeter /
           (pi * fluid.viscosity_pa_s * hole.diameter_mm * kMeter);
}

double hole_diameter_mm(double flow_ml_s, double length_mm, const Fluid& fluid, double drop_kpa,
                        EndLoss ends, double discharge) {
    // The drop falls as the hole widens: halve the interval of the logarithm until it is one
    // double.
    double low = std::log(1e-6);
    double high = std::log(1e6);
    while (true) {
        const double middle = 0.5 * (low + high);
        if (middle <= low || middle >= high) {
            return std::exp(middle);
        }
        const Hole hole{std::exp(middle), length_mm, discharge};
        (hole_drop_kpa(hole, fluid, flow_ml_s, ends) > drop_kpa ? low : high) = middle;
    }
}

double pour_flow_ml_s(const Hole& hole, const Fluid& fluid, double liquid_above_mm) {
    const double drop = column_pressure_kpa(fluid.density_kg_m3, liquid_above_mm + hole.length_mm);
    return hole_flow_ml_s(hole, fluid, drop);
}

VentSize vent_size(std::size_t count, const VentSizeOptions& options) {
    const auto require = [](bool good, const char* what, double value) {
        if (!good) {
            throw InvalidInput(
                fmt::format("{} is {:g}; it must be a number above 0.", what, value));
        }
    };
    require(count > 0, "The number of vents", static_cast<double>(count));
    const auto positive = [](double x) { return x > 0.0 && std::isfinite(x); };
    require(positive(options.growth_ml_s), "The growth of the foam", options.growth_ml_s);
    require(positive(options.length_mm), "The length of a vent", options.length_mm);
    require(positive(options.drop_kpa), "The allowed back-pressure", options.drop_kpa);
    require(positive(options.least_mm), "The least vent", options.least_mm);
    require(positive(options.drill_step_mm), "The step of the drills", options.drill_step_mm);
    VentSize size;
    size.flow_ml_s = options.growth_ml_s / static_cast<double>(count);
    size.diameter_mm = hole_diameter_mm(size.flow_ml_s, options.length_mm, kAir, options.drop_kpa);
    size.alone_mm =
        hole_diameter_mm(options.growth_ml_s, options.length_mm, kAir, options.drop_kpa);
    size.drill_mm =
        std::max(options.least_mm,
                 options.drill_step_mm * std::ceil(size.diameter_mm / options.drill_step_mm));
    size.drop_kpa =
        hole_drop_kpa({size.drill_mm, options.length_mm}, kAir, size.flow_ml_s, EndLoss::none);
    return size;
}

}  // namespace cavigram
