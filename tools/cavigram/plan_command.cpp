// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/report/colored_part.h"
#include "cavigram/report/json.h"
#include "cavigram/report/sphere_map.h"
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command add_plan(CLI::App& app, Options& options) {
    CLI::App* command = app.add_subcommand(
        "plan", "All of it into one folder: the summary, JSON, and the part colored by thickness");
    add_options(
        *command, options,
        {.foam = true, .thin = true, .vent = true, .bench = true, .orient = true, .out = true});
    return {command, [](const Options& given, const RunContext& context) {
                const PlanRequest request = request_of(given);
                const std::filesystem::path out =
                    given.out.empty()
                        ? std::filesystem::path(request.part.file.stem().string() + "_plan")
                        : std::filesystem::path(given.out);
                return run_stages(
                    given, {.thin = true, .foam = true, .air = true, .bench = true, .orient = true},
                    [&](const Plan& plan) {
                        context.report("writing", 0.0);
                        make_folder(out);
                        const std::string summary = summary_text(plan);
                        const ColoredPart part = thickness_colored(plan);
                        write_file(out / "plan.json", json_text(plan));
                        write_file(out / "summary.txt", summary);
                        write_file(out / "thickness.ply", part.ply);
                        write_file(out / "thickness.glb", part.glb);
                        write_file(out / "orient_map.svg", sphere_map_svg(*plan.orientations));
                        return summary + "\nWritten to " + out.string() +
                               ": summary.txt, plan.json, thickness.ply, thickness.glb, "
                               "orient_map.svg\n";
                    },
                    context);
            }};
}

}  // namespace cavigram::program
