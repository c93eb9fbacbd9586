// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "job.h"

namespace cavigram::serve {

/// What was chosen on the page, as it is typed: `cavigram plan 'my part.stl' --density 9lb/ft3`.
/// `part` is the file's name. One line that a shell takes as it stands.
[[nodiscard]] std::string command_line(const std::string& part, const program::JobValues& values);

/// The same as a job file (`cavigram plan --job job.toml`), to lie beside the part.
[[nodiscard]] std::string job_text(const std::string& part, const program::JobValues& values);

}  // namespace cavigram::serve
