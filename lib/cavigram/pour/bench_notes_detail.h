// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/pour/bench.h"

namespace cavigram::detail {

// The method that is preferred among those that fit; none if none does.
std::optional<PourMethod> first_that_fits(const std::vector<MethodBudget>& methods);

// Adds what a person must know about the chosen method: no or little time and what helps, a narrow
// hole, halves that are held, a mold of another temperature.
void note(BenchPlan& plan, const MethodBudget& chosen);

}  // namespace cavigram::detail
