// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <exception>
#include <string>

namespace cavigram::program {

/// What is said of an exception that is none of the library's own (core/error.h).
struct FaultWords {
    std::string sentence;
    /// The machine had no memory, thread or file handle left: nothing is wrong with the file or the
    /// program, and the same call may do later. Else it is a bug.
    bool of_machine = false;
};

[[nodiscard]] FaultWords fault_words(const std::exception& error);

}  // namespace cavigram::program
