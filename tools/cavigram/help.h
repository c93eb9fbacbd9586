// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "commands.h"

namespace cavigram::program {

/// What `cavigram --help` prints: the commands, how to go on, the exit statuses.
[[nodiscard]] std::string program_help(const std::vector<Command>& commands, std::size_t columns);

/// What `cavigram NAME --help` prints: how it is called, what it does, its options in groups, those
/// first that the command is about. Of `tally`, the commands behind it.
[[nodiscard]] std::string command_help(const std::vector<Command>& commands,
                                       const std::string& name, std::size_t columns);

}  // namespace cavigram::program
