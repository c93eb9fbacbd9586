// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <map>
#include <string>
#include <vector>

namespace cavigram::program {

/// What a job file gives, as if it had been typed: the texts of each option by its name.
using JobValues = std::map<std::string, std::vector<std::string>>;

/// Reads a job file: TOML with long option names as keys, `density = "8 lb/ft3"`, `copies = 3`,
/// `quiet = true`, lists for options that may be repeated, and `part` for the mesh file.
///
/// One file serves all commands. Files (`part`, `also`, a `foam` that ends in .toml) are looked for
/// beside the job file. \throw InvalidInput for a key that is no option of any command, with the
/// nearest one, and for a value of the wrong form; UnusableInput
[[nodiscard]] JobValues read_job(const std::string& path);

}  // namespace cavigram::program
