// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/text.h"
#include "commands.h"

namespace cavigram::program {

Command add_inspect(CLI::App& app, Options& options) {
    CLI::App* command = app.add_subcommand("inspect", "What the file holds, what is wrong with it and what mending did; size, volume, area");
    add_options(*command, options, {});
    return {command, [](const Options& given, const RunContext& context) {
                return run_stages(given, {}, inspect_text, context);
            }};
}

}  // namespace cavigram::program
