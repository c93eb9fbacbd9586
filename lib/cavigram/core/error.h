// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <stdexcept>
#include <string>

#include "cavigram/core/told.h"

namespace cavigram {

/// What stops the work. The text is one plain sentence that says what is wrong, where, and what to
/// do.
///
/// The library throws these and prints nothing; the program turns each kind into its exit status.
/// What is merely *noticed about a part* is a Finding (finding.h), never an exception.
class Error : public std::runtime_error {
  public:
    /// A sentence, its quantities, places and settings told (told.h), made one_line. what() is in
    /// metric units and names settings as the library's members.
    explicit Error(const std::string& sentence)
        : std::runtime_error(rendered(one_line(sentence), UnitSystem::metric, Settings::members)),
          told_(one_line(sentence)) {}
    /// The sentence with its marks, for those who render it their own way.
    [[nodiscard]] const std::string& told() const { return told_; }

  private:
    std::string told_;
};

/// The call is wrong: an option out of range, a quantity of the wrong kind, a card that contradicts
/// itself. Exit status 2.
class InvalidInput : public Error {
  public:
    using Error::Error;
};

/// The input can't be read or used: no such file, no mesh in it, a mesh that can't be made closed.
/// Exit status 3.
class UnusableInput : public Error {
  public:
    using Error::Error;
};

/// A result can't be written. Exit status 3.
class WriteError : public Error {
  public:
    using Error::Error;
};

/// A computation that should have succeeded did not. A fault of this program. Exit status 4.
class NumericalFailure : public Error {
  public:
    using Error::Error;
};

/// The person asked to stop (Ctrl-C). Nothing half-done is kept. Exit status 130.
class Cancelled : public Error {
  public:
    Cancelled() : Error("Stopped as asked; nothing was written.") {}
};

}  // namespace cavigram

/// A contract inside the program. Live in every kind of build but release.
#ifdef NDEBUG
#define CAVIGRAM_ASSERT(condition) static_cast<void>(0)
#else
#include <cassert>
#define CAVIGRAM_ASSERT(condition) assert(condition)
#endif
