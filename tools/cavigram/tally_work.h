// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "cavigram/core/error.h"
#include "cavigram/core/run_context.h"
#include "cavigram/tally/casting.h"

#include "options.h"

namespace cavigram::program {

/// An entry that can be and is likely a slip; `--yes` says that it is none.
class LikelySlip : public InvalidInput {
  public:
    using InvalidInput::InvalidInput;
};

/// A casting before and after.
struct Correction {
    Casting was;
    Casting now;
};

// What the tally's commands do, and the page of `serve` too, with the same refusals. What is to be
// done stands in the options as those of the command.

/// The log's file.
[[nodiscard]] std::filesystem::path log_path(const Options& options);
/// A shop that has logged nothing has no file, and none is made by asking.
[[nodiscard]] bool log_is_there(const Options& options);
/// The castings, of the mold that is named. \throw InvalidInput, UnusableInput
[[nodiscard]] std::vector<Casting> logged(const Options& options);

/// `tally add`: measures the part and logs what was weighed; gives it as it was logged, with its
/// number. \throw LikelySlip, InvalidInput, UnusableInput, WriteError, Cancelled
Casting add_casting(const Options& options, const RunContext& context);
/// `tally correct`. \throw as add_casting
Correction correct_casting(const Options& options);
/// `tally remove`. \throw InvalidInput, UnusableInput, WriteError
Casting remove_casting(const Options& options);
/// `tally undo`; nothing: the log was empty. \throw UnusableInput, WriteError
std::optional<Casting> undo_casting(const Options& options);

}  // namespace cavigram::program
