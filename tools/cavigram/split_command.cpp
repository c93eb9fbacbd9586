// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command split_command() {
    return {"split", "How a mold of two halves is pulled apart: parting line, undercuts, stretch",
            [](const Options& given, const RunContext& context) {
                return run_stages(given, {.split = true}, split_text, context);
            }};
}

}  // namespace cavigram::program
