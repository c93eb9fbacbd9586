// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>
#include <string>

#include <CLI/CLI.hpp>

#include "cavigram/core/run_context.h"

#include "options.h"

namespace cavigram::program {

/// One command: what the parser knows of it, and what it does. Gives the exit status.
struct Command {
    CLI::App* app = nullptr;
    std::function<int(const Options& options, const RunContext& context)> run;
};

/// Each of these adds one command to the program; one file each.
[[nodiscard]] Command add_inspect(CLI::App& app, Options& options);
[[nodiscard]] Command add_thin(CLI::App& app, Options& options);
[[nodiscard]] Command add_weigh(CLI::App& app, Options& options);
[[nodiscard]] Command add_vent(CLI::App& app, Options& options);
[[nodiscard]] Command add_orient(CLI::App& app, Options& options);
[[nodiscard]] Command add_bench(CLI::App& app, Options& options);
[[nodiscard]] Command add_plan(CLI::App& app, Options& options);
[[nodiscard]] Command add_tally(CLI::App& app, Options& options);
[[nodiscard]] Command add_foams(CLI::App& app, Options& options);
[[nodiscard]] Command add_schema(CLI::App& app, Options& options);

/// Computes the stages, prints `text` of the plan unless quiet, writes JSON where asked. Gives 1 if
/// a finding says stop, else 0.
[[nodiscard]] int run_stages(const Options& options, const Stages& stages,
                             const std::function<std::string(const Plan&)>& text,
                             const RunContext& context);

/// Writes to standard output, whole. \throw WriteError if it is closed or full
void print(const std::string& text);

}  // namespace cavigram::program
