// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

namespace cavigram::program {

/// The page of the pour sheet as bundled at build time, to be filled by pour_sheet_html. It holds
/// three.js (MIT license), whose notice stands in it.
[[nodiscard]] std::string pour_sheet_page();

}  // namespace cavigram::program
