// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/report/text.h"

#include "options.h"
#include "part_commands.h"

namespace cavigram::program {

/// One command. Which options it takes stands in their table.
struct Command {
    std::string name;  ///< As in kCommandNames.
    std::string help;
    /// Does it and gives the exit status. Empty: only a word before the names of others.
    std::function<int(const Options& options, const RunContext& context)> run;
};

/// A command of a part that only prints, and writes JSON where asked. \pre part_command has it
[[nodiscard]] Command printing_command(const std::string& name);

/// Those that do more, one file each.
[[nodiscard]] Command inspect_command();
[[nodiscard]] Command orient_command();
[[nodiscard]] Command split_command();
[[nodiscard]] Command plan_command();
/// `tally` itself first, then what stands behind it.
[[nodiscard]] std::vector<Command> tally_commands();
[[nodiscard]] Command foams_command();
[[nodiscard]] Command schema_command();
[[nodiscard]] Command serve_command();

/// What is printed of a plan.
using PlanText = std::function<std::string(const Plan& plan, const TextStyle& style)>;

/// Computes the stages, prints `text` of the plan unless quiet, writes JSON where asked. Gives 1 if
/// a finding says stop, else 0.
[[nodiscard]] int run_stages(const Options& options, const Stages& stages, const PlanText& text,
                             const RunContext& context);

/// Writes to standard output, whole. `done`: what has been done already and stays so, "the casting
/// is logged". \throw WriteError if it is closed or full; it says what was done
void print(const std::string& text, const std::string& done = "");

}  // namespace cavigram::program
