// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/tally/casting_log.h"
#include "cavigram/tally/fit.h"

namespace cavigram {

/// One casting in one line, with the density that came out.
[[nodiscard]] std::string casting_text(const Casting& casting);
/// All of them, a line each, and how many.
[[nodiscard]] std::string castings_text(const std::vector<Casting>& castings);
/// What the castings of one foam and mix say, each figure with its 95 % interval and from how many
/// castings it comes; what contradicts itself; what to cast next; how to use it.
[[nodiscard]] std::string fit_text(const ShopFit& fit);
/// The same for a foam and mix of which nothing can be said, with the reason.
[[nodiscard]] std::string no_fit_text(const Casting& one, const std::string& why);

}  // namespace cavigram
