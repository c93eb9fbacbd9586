// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// The plan as one JSON object of schema `cavigram/1`, indented, ending in a line break: a block
/// for each stage that ran. Numbers with all their digits (shortest form that reads back the same);
/// same plan, same bytes. docs/json.md lists the keys.
[[nodiscard]] std::string json_text(const Plan& plan);

}  // namespace cavigram
