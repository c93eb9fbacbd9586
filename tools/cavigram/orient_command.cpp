// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>

#include "cavigram/core/atomic_file.h"
#include "cavigram/report/sphere_map.h"
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command add_orient(CLI::App& app, Options& options) {
    CLI::App* command =
        app.add_subcommand("orient", "Which way up: the least air, the fewest vents, and why");
    add_options(*command, options, {.orient = true, .out = true});
    return {command, [](const Options& given, const RunContext& context) {
                return run_stages(
                    given, {.orient = true},
                    [&](const Plan& plan) {
                        std::string text = orient_text(plan);
                        if (!given.out.empty()) {
                            const std::filesystem::path out(given.out);
                            make_folder(out);
                            write_file(out / "orient_map.svg", sphere_map_svg(*plan.orientations));
                            text += "\nWritten to " + out.string() + ": orient_map.svg\n";
                        }
                        return text;
                    },
                    context);
            }};
}

}  // namespace cavigram::program
