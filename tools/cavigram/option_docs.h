// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace cavigram::program {

/// docs/options.md: all options by group, with the commands that take them.
[[nodiscard]] std::string options_markdown();

/// The same for tests: `commands`, all of them, and `options`, one object for each row of the
/// table.
[[nodiscard]] std::string options_json();

}  // namespace cavigram::program
