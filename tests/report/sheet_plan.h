// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/plan.h"

/// The sample cleat with all that a pour sheet shows, made once for each test program. The way up
/// is that of the file, which needs a vent.
[[nodiscard]] inline const cavigram::Plan& sheet_plan() {
    static const cavigram::Plan plan = [] {
        cavigram::PlanRequest request;
        request.part.file = "sample_meshes/mooring_cleat.stl";
        request.part.units = cavigram::parse_length_unit("mm");
        return cavigram::make_plan(request, {.thin = true,
                                             .foam = true,
                                             .density = true,
                                             .air = true,
                                             .bench = true,
                                             .orient = true,
                                             .rise = true,
                                             .display = true});
    }();
    return plan;
}
