// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "commands.h"

namespace cavigram::program {

/// What is installed beside the program, made from the commands and the table of options.
///
/// Completion in bash, zsh and fish: commands, a command's own options, the words that an option
/// takes where they are few, and files where it takes a file.
[[nodiscard]] std::string bash_completion();
[[nodiscard]] std::string zsh_completion(const std::vector<Command>& commands);
[[nodiscard]] std::string fish_completion(const std::vector<Command>& commands);

/// The manual page cavigram(1), in the man macros of roff.
[[nodiscard]] std::string man_page(const std::vector<Command>& commands);

}  // namespace cavigram::program
