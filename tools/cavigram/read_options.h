// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "job.h"
#include "options.h"

namespace CLI {  // NOLINT(readability-identifier-naming): theirs
class App;
}

namespace cavigram::program {

/// Adds the rows of the table that a command takes to its parser.
void add_options(CLI::App& parser, const std::string& command);

/// The options of a command from the texts of each, by name: what was typed, and what a job file
/// adds to it. Of both the command takes what is its own. \throw InvalidInput naming the option
[[nodiscard]] Options read_values(const JobValues& typed, const JobValues& job,
                                  const std::string& command);

/// What was typed, and what the job file adds to it, each read once. Of a job file the command
/// takes what is its own. \pre `parser` has parsed \throw InvalidInput naming the option,
/// UnusableInput for files that can't be read
[[nodiscard]] Options read_options(const CLI::App& parser, const std::string& command);

}  // namespace cavigram::program
