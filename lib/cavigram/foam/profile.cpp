// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/profile.h"

#include <cmath>

#include "cavigram/core/error.h"
#include "cavigram/foam/gauss_legendre_detail.h"

namespace cavigram {

namespace {

void require_positive(double value, const char* what) {
    if (!(value > 0.0) || !std::isfinite(value)) {
        throw InvalidInput(std::string("A density profile needs ") + what + " of more than 0 mm.");
    }
}

// cosh(a) / cosh(b) without overflow. \pre b >= |a|
double cosh_ratio(double a, double b) {
    return (std::exp(a - b) + std::exp(-a - b)) / (1.0 + std::exp(-2.0 * b));
}

double sinh_over_cosh(double a, double b) {
    return (std::exp(a - b) - std::exp(-a - b)) / (1.0 + std::exp(-2.0 * b));
}

}  // namespace

ProfileShape exponential_shape(double decay_mm) {
    require_positive(decay_mm, "a decay length");
    return {[=](double d) { return std::exp(-d / decay_mm); },
            [=](double d) { return -std::exp(-d / decay_mm) / decay_mm; }};
}

ProfileShape cosh_shape(double half_thickness_mm, double decay_mm) {
    require_positive(half_thickness_mm, "half a wall");
    require_positive(decay_mm, "a decay length");
    const double b = half_thickness_mm / decay_mm;
    return {[=](double d) { return cosh_ratio((half_thickness_mm - d) / decay_mm, b); },
            [=](double d) {
                return -sinh_over_cosh((half_thickness_mm - d) / decay_mm, b) / decay_mm;
            }};
}

ProfileShape power_shape(double half_thickness_mm, double exponent) {
    require_positive(half_thickness_mm, "half a wall");
    if (!(exponent >= 1.0) || !std::isfinite(exponent)) {
        throw InvalidInput("A power law of the density needs an exponent of 1 or more.");
    }
    const double h = half_thickness_mm;
    return {[=](double d) { return std::pow(std::abs(1.0 - d / h), exponent); },
            [=](double d) {
                const double z = 1.0 - d / h;
                return -std::copysign(exponent / h, z) * std::pow(std::abs(z), exponent - 1.0);
            }};
}

double effective_skin_volume_mm3(const DepthVolumeCurve& curve, double deepest_mm,
                                 const ProfileShape& shape, int panels) {
    CAVIGRAM_ASSERT(deepest_mm > 0.0 && panels >= 1);
    // Ends at D u^2: half the panels lie in the outer quarter.
    const auto end = [&](int panel) {
        const double u = static_cast<double>(panel) / panels;
        return deepest_mm * u * u;
    };
    double integral = 0.0;
    for (int panel = 0; panel < panels; ++panel) {
        integral += detail::gauss_legendre(
            end(panel), end(panel + 1), [&](double s) { return shape.slope_per_mm(s) * curve(s); });
    }
    return shape.share(deepest_mm) * curve(deepest_mm) - integral;
}

}  // namespace cavigram
