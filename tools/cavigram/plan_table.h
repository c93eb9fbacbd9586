// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/run_context.h"

#include "options.h"

namespace cavigram::program {

/// `plan A B ... --out FOLDER --table`: a folder for each scan, a row for each in table.csv and
/// table.html. What is done is left as it is: the same file, by its content, with the same options
/// and version. Gives 0; 1 if a part needs attention first; 3 if a scan failed; 130 if it was
/// stopped, in which case the same call goes on from there. Without scans it writes the tables
/// anew.
///
/// One scan at a time, each in a process of its own. \throw WriteError
int plan_table(const Options& options, const RunContext& context);

}  // namespace cavigram::program
