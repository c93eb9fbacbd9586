// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/atomic_file.h"
#include "cavigram/report/sphere_map.h"
#include "cavigram/report/text.h"

#include "commands.h"

namespace cavigram::program {

Command orient_command() {
    return {"orient", part_command("orient").help,
            [](const Options& given, const RunContext& context) {
                if (!given.out.empty()) {
                    check_folder_place(given.out);
                }
                return run_stages(
                    given, part_command("orient").stages,
                    [&](const Plan& plan, const TextStyle& style) {
                        std::string text = orient_text(plan, style);
                        if (!given.out.empty()) {
                            make_folder(given.out);
                            write_file(given.out / "orient_map.svg", sphere_map_svg(plan));
                            text += "\nWritten to " + given.out.string() + ": orient_map.svg\n";
                        }
                        return text;
                    },
                    context);
            }};
}

}  // namespace cavigram::program
