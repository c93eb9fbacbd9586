// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <stop_token>
#include <string>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/report/scan_table.h"

#include "options.h"

namespace cavigram::program {

/// The first word of the call of a child that plans one scan: no person's command.
inline constexpr const char* kOneScan = "--one-scan";

/// The options that a plan is made from, as they would be typed, without the part, what is printed,
/// and where to. They make the row's words, the child's call and the key.
[[nodiscard]] std::vector<std::string> plan_words(const Options& options);

/// What the child does: plans the part into the folder `options.out` and writes the row beside the
/// plan, whatever became of it. Gives 0. \throw WriteError if the folder takes no files, Cancelled
int plan_one_scan(const Options& options, const RunContext& context);

/// Plans one scan into an empty folder in a child process, which can hurt nobody: a crash, or the
/// kernel's end of one that took too much memory, is a row. The child dies with this program.
///
/// \throw Cancelled after the child's end; WriteError, InvalidInput if the child could not work for
/// a reason that all the others would meet too
[[nodiscard]] ScanRow plan_in_child(const std::filesystem::path& scan,
                                    const std::filesystem::path& folder, const Options& options,
                                    const std::stop_token& stop);

}  // namespace cavigram::program
