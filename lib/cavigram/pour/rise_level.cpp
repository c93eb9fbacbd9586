// SPDX-License-Identifier: GPL-3.0-or-later
// By which way a rise is followed.
#include <algorithm>
#include <numeric>

#include "cavigram/core/constants.h"
#include "cavigram/core/text.h"
#include "cavigram/pour/rise.h"

namespace cavigram {

namespace {

constexpr double kPerMm = 1e-3;
constexpr double kGravityRules = 30.0;
constexpr double kGravityNothing = 1.0 / 30.0;

}  // namespace

const char* to_text(RiseLevel level) {
    switch (level) {
        case RiseLevel::still:
            return "still";
        case RiseLevel::stepped:
            return "stepped";
        case RiseLevel::viscous:
            break;
    }
    return "viscous";
}

RiseLevel parse_rise_level(std::string_view text, std::string_view name) {
    return parse_choice<RiseLevel>(text, name,
                                   {RiseLevel::still, RiseLevel::stepped, RiseLevel::viscous});
}

RiseLevel level_for(double gravity_number) {
    return gravity_number >= kGravityRules     ? RiseLevel::still
           : gravity_number <= kGravityNothing ? RiseLevel::viscous
                                               : RiseLevel::stepped;
}

double gravity_number_of(const RiseGrid& grid, const RiseRequest& request) {
    const RiseCourse course(request.course);
    // When the foam has grown so that it fills half the cavity, or to half of all it can.
    const double half = std::clamp(0.5 * request.cavity_mm3 / request.start.liquid_mm3, 1.0,
                                   0.5 * (1.0 + course.expansion(course.gel_s())));
    const double t = std::max(course.reached_s(half), course.begin_s() + 1e-6);
    const double drive = course.viscosity_pa_s(t) * course.growth_per_s(t);
    std::vector<std::size_t> order(grid.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return grid.permeability_mm2[a] < grid.permeability_mm2[b];
    });
    // The median by volume: what most of the foam is held back by.
    double left = 0.5 * grid.total_mm3();
    double k = grid.permeability_mm2[order.back()];
    for (const std::size_t c : order) {
        left -= grid.volume_mm3[c];
        if (left <= 0.0) {
            k = grid.permeability_mm2[c];
            break;
        }
    }
    const double height_m = grid.count[2] * grid.spacing_mm * kPerMm;
    const double k_m2 = k * kPerMm * kPerMm;
    return request.liquid_kg_m3 / half * kGravity_m_s2 * k_m2 / (drive * height_m);
}

}  // namespace cavigram
