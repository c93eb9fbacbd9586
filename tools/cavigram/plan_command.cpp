// SPDX-License-Identifier: GPL-3.0-or-later
#include <filesystem>

#include "cavigram/core/atomic_file.h"
#include "cavigram/report/text.h"

#include "commands.h"
#include "plan_files.h"
#include "plan_table.h"
#include "scan_child.h"

namespace cavigram::program {

namespace {

// Everything into the folder, and the summary for the screen.
std::string write_plan(const Plan& plan, const TextStyle& style, const std::filesystem::path& out,
                       const RunContext& context) {
    context.report("writing", 0.0);
    const auto files = plan_files(plan, style.first, context);
    make_folder(out);
    write_files(out, files, other_plan_files(files));
    std::string names;
    for (const auto& [name, bytes] : files) {
        names += (names.empty() ? "" : ", ") + name;
    }
    const std::string written = "Written to " + out.string() + ": " + names +
                                "\nOpen pour_sheet.html in any browser; print it for the card.\n";
    return style.pour_last ? written + "\n" + summary_text(plan, style)
                           : summary_text(plan, style) + "\n" + written;
}

}  // namespace

Command plan_command() {
    return {"plan", part_command("plan").help, [](const Options& given, const RunContext& context) {
                if (given.one_scan) {
                    return plan_one_scan(given, context);
                }
                if (given.table) {
                    return plan_table(given, context);
                }
                const std::filesystem::path out =
                    given.out.empty()
                        ? std::filesystem::path(given.plan.part.file.stem().string() + "_plan")
                        : given.out;
                check_folder_place(out);
                Options options = given;
                options.out = out;
                return run_stages(
                    options, kWholePlan,
                    [&](const Plan& plan, const TextStyle& style) {
                        return write_plan(plan, style, out, context);
                    },
                    context);
            }};
}

}  // namespace cavigram::program
