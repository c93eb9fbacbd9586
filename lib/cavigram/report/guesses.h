// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// A figure that nobody measured: what it is taken to be, and the option that replaces it.
struct Guess {
    std::string what;          ///< Which figure.
    std::string value;         ///< Told (core/told.h).
    std::string replace_with;  ///< The option that replaces it.
};

/// All guesses that a plan rests on, in the order in which they matter to the grams. They are told
/// here and nowhere else.
[[nodiscard]] std::vector<Guess> guesses_of(const Plan& plan);

}  // namespace cavigram
