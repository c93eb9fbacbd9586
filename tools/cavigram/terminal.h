// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/report/text.h"

namespace cavigram::program {

/// How a page is laid out for where standard output goes: as wide as the terminal or as COLUMNS
/// says, 40 to 100 columns, with the grams last on a terminal.
[[nodiscard]] TextStyle output_style(const TextStyle& asked = {});
/// Whether standard output is a terminal.
[[nodiscard]] bool on_terminal();

/// Gives closed standard streams something to be closed with: a file that is opened later must not
/// take their place and be written into. Output to a closed stream still fails. Before anything is
/// opened.
void guard_streams();

}  // namespace cavigram::program
