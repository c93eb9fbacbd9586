// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"
#include "terminal.h"

namespace cavigram::program {

Command thin_command() {
    return {"thin", "Where the part is thin: all skin, or hard to fill",
            [](const Options& given, const RunContext& context) {
                return run_stages(
                    given, {.thin = true},
                    [](const Plan& plan) { return thin_text(plan, output_layout()); }, context);
            }};
}

}  // namespace cavigram::program
