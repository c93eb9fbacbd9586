// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"
#include "cavigram/report/text.h"

namespace cavigram::program {

/// What a command computes of a part, and how it tells it: the same for the program and for its
/// Python module.
struct PartCommand {
    const char* name = "";  ///< As in kCommandNames.
    const char* help = "";
    Stages stages;
    std::string (*text)(const Plan& plan, const TextStyle& style) = nullptr;
};

/// \pre the name is one of a command that makes a plan of a part (kPlans)
[[nodiscard]] const PartCommand& part_command(const std::string& name);

}  // namespace cavigram::program
