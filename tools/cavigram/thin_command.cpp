// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command add_thin(CLI::App& app, Options& options) {
    CLI::App* command =
        app.add_subcommand("thin", "Where the part is thin: all skin, or hard to fill");
    add_options(*command, options, {.foam = true, .thin = true});
    return {command, [](const Options& given, const RunContext& context) {
                return run_stages(given, {.thin = true}, thin_text, context);
            }};
}

}  // namespace cavigram::program
