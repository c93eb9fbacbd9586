// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"
#include "terminal.h"

namespace cavigram::program {

Command vent_command() {
    return {"vent", "For one way up: where air stays, where pour hole and vents go",
            [](const Options& given, const RunContext& context) {
                return run_stages(
                    given, {.air = true},
                    [](const Plan& plan) { return vent_text(plan, output_layout()); }, context);
            }};
}

}  // namespace cavigram::program
