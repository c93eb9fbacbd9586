// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "http.h"
#include "workbench.h"

namespace cavigram::serve {

/// Whether an address of a part is one of its pictures before and after mending: `faults.svg`,
/// `mended.svg`.
[[nodiscard]] bool is_fault_view(const std::string& what);

/// The picture, with `from` as front (its widest side) or side. Both have one scale and one side.
/// The file is read again: the surface as it was is not kept.
[[nodiscard]] Answer fault_view(const Workbench& workbench, const PartJob& job,
                                const std::string& what, const std::string& from);

}  // namespace cavigram::serve
