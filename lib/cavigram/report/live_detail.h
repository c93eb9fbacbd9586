// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

// What the page computes with when a person turns a knob, as JSON: see
// tools/pour_sheet/src/arithmetic.ts and what that draws on, which follow foam_choice, foam_mass,
// window, batch and bench_plan line by line.
std::string live_json_text(const Plan& plan);

}  // namespace cavigram
