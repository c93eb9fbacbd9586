// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

namespace cavigram::program {

/// What is wrong with a call that the parser refused, in one sentence with what to do.
[[nodiscard]] std::string wrong_call(const CLI::ParseError& error,
                                     const std::vector<std::string>& arguments);

}  // namespace cavigram::program
