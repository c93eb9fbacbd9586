// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command rise_command() {
    return {
        "rise",
        "The foam rising, in time: last places to fill, air cut off, pressure, what a vent buys",
        [](const Options& given, const RunContext& context) {
            return run_stages(
                given, {.foam = true, .air = true, .bench = true, .rise = true, .rise_cases = true},
                rise_text, context);
        }};
}

}  // namespace cavigram::program
