// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/geom/vector.h"
#include "cavigram/pour/rise.h"

/// A foam that is packed by 15 % rises in the cavity, with one vent of 2 mm through 20 mm of wall.
inline cavigram::RiseRequest rise_request(double cavity_mm3, const cavigram::Vec3& vent) {
    constexpr double kExpansion = 8.435965;
    constexpr double kPacking = 1.15;
    cavigram::RiseRequest request;
    request.cavity_mm3 = cavity_mm3;
    request.course.times = {.work_s = 30.0, .risen_s = 120.0, .expansion = kExpansion};
    request.start.liquid_mm3 = kPacking * cavity_mm3 / kExpansion;
    request.packing_factor = kPacking;
    request.packing_kpa = 17.5;
    request.holes = {{vent, 2.0, 20.0, false}};
    return request;
}
