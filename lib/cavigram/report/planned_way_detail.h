// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>

#include "cavigram/plan/plan.h"

namespace cavigram {

// The ranked way up that is planned for: the first, unless one was asked for, or another makes the
// better whole with a pull. \pre there are orientations
inline const RankedWayUp& planned_way(const Plan& plan) {
    const std::vector<RankedWayUp>& rows = plan.orientations->rows;
    constexpr double kSame = 1.0 - 1e-6;  // cosine
    const auto planned = std::find_if(rows.begin(), rows.end(), [&](const RankedWayUp& row) {
        return plan.air && row.value.up.dot(plan.air->up) > kSame;
    });
    return planned == rows.end() ? rows.front() : *planned;
}

}  // namespace cavigram
