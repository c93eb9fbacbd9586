// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include <CLI/CLI.hpp>

namespace cavigram::program {

/// The arguments that a job file adds to a command that has been parsed: what the person gave on
/// the command line wins.
///
/// A job file is TOML with long option names as keys, `density = "8 lb/ft3"`, `copies = 3`, `quiet
/// = true`, lists for options that may be repeated, and `part` for the mesh file. Files (`part`,
/// `also`, a `foam` that ends in .toml) are looked for beside the job file. Keys that no option of
/// `command` has are refused with the nearest one. \throw InvalidInput, UnusableInput
[[nodiscard]] std::vector<std::string> job_arguments(const CLI::App& command,
                                                     const std::string& path);

}  // namespace cavigram::program
