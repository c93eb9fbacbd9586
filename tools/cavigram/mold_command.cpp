// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command mold_command() {
    return {
        "mold",
        "What to build around the part: rubber, jacket, boards, holes, straps, and what it weighs",
        [](const Options& given, const RunContext& context) {
            return run_stages(
                given, {.foam = true, .air = true, .bench = true, .mold = true, .split = true},
                mold_text, context);
        }};
}

}  // namespace cavigram::program
