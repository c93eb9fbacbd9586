// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"
#include "terminal.h"

namespace cavigram::program {

Command weigh_command() {
    return {"weigh", "Skin and core mass, grams of A and B, scale and cup",
            [](const Options& given, const RunContext& context) {
                return run_stages(
                    given, {.foam = true, .density = true},
                    [](const Plan& plan) { return weigh_text(plan, output_layout()); }, context);
            }};
}

}  // namespace cavigram::program
