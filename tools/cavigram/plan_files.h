// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/core/told.h"
#include "cavigram/plan/plan.h"

namespace cavigram::program {

/// The files of a whole plan's folder, by name, in the order in which they are listed. `first`:
/// whose units come first in the summary.
///
/// \pre the plan has the stages of kWholePlan
///
/// \throw Cancelled
[[nodiscard]] std::vector<std::pair<std::string, std::string>> plan_files(
    const Plan& plan, UnitSystem first, const RunContext& context = {});

/// Names that a plan's folder has for some parts only, and that `files` lacks: what an earlier plan
/// of another part may have left there.
[[nodiscard]] std::vector<std::string> other_plan_files(
    const std::vector<std::pair<std::string, std::string>>& files);

}  // namespace cavigram::program
