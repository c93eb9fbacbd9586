// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command add_vent(CLI::App& app, Options& options) {
    CLI::App* command =
        app.add_subcommand("vent", "For one way up: where air stays, where pour hole and vents go");
    add_options(*command, options, {.vent = true, .vent_foam = true});
    return {command, [](const Options& given, const RunContext& context) {
                return run_stages(given, {.air = true}, vent_text, context);
            }};
}

}  // namespace cavigram::program
