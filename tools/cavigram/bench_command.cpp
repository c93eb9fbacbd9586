// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"
#include "terminal.h"

namespace cavigram::program {

Command bench_command() {
    return {"bench",
            "Time and temperature budget, pour method, and a checklist with the numbers in it",
            [](const Options& given, const RunContext& context) {
                return run_stages(
                    given, {.foam = true, .bench = true},
                    [](const Plan& plan) { return bench_text(plan, output_layout()); }, context);
            }};
}

}  // namespace cavigram::program
