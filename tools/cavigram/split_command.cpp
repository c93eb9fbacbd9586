// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/atomic_file.h"
#include "cavigram/report/parting_template.h"
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

namespace {

// The line on paper, and which files it is in.
std::string write_line(const Plan& plan, const std::filesystem::path& out) {
    const auto files = parting_files(plan);
    if (files.empty()) {
        return "\nNothing written: there is no parting line.\n";
    }
    make_folder(out);
    write_files(out, files);
    std::string names;
    for (const auto& [name, bytes] : files) {
        names += (names.empty() ? "" : ", ") + name;
    }
    return "\nWritten to " + out.string() + ": " + names + "\n";
}

}  // namespace

Command split_command() {
    return {
        "split", part_command("split").help, [](const Options& given, const RunContext& context) {
            const bool writes = !given.out.empty();
            if (writes) {
                check_folder_place(given.out);
            }
            Stages stages = part_command("split").stages;
            stages.display = writes;
            return run_stages(
                given, stages,
                [&](const Plan& plan, const TextStyle& style) {
                    return split_text(plan, style) + (writes ? write_line(plan, given.out) : "");
                },
                context);
        }};
}

}  // namespace cavigram::program
