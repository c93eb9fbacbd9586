// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command handle_command() {
    return {"handle", "Weight in the hand, how far it droops from the grip, armature or none",
            [](const Options& given, const RunContext& context) {
                return run_stages(given, {.foam = true, .handle = true}, handle_text, context);
            }};
}

}  // namespace cavigram::program
