// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <vector>

#include "cavigram/plan/plan.h"
#include "cavigram/tally/casting_log.h"
#include "cavigram/tally/fit.h"

namespace cavigram {

/// One casting in one line, with the density that came out.
[[nodiscard]] std::string casting_text(const Casting& casting);
/// All of them, a line each, and how many; of none, that there is nothing yet and what to do.
[[nodiscard]] std::string castings_text(const std::vector<Casting>& castings);
/// What was corrected or removed, a line each; how many changes there were, if `in_full` is false.
[[nodiscard]] std::string history_text(const std::vector<PastCasting>& past, bool in_full);
/// How one mold's castings came out and what they weighed.
[[nodiscard]] std::string mold_text(const std::string& mold, const std::vector<Casting>& castings);
/// The call that logs this plan's casting, to copy into a terminal and to complete with the mass
/// that came out: lines that a shell reads as one. Empty where there is no recipe.
///
/// \pre plan.foam
[[nodiscard]] std::string log_call(const Plan& plan);
/// What the castings of one foam and mix say, each figure with its 95 % interval and from how many
/// castings it comes; what contradicts itself; what to cast next; how to use it.
[[nodiscard]] std::string fit_text(const ShopFit& fit);
/// The same for a foam and mix of which nothing can be said, with the reason.
[[nodiscard]] std::string no_fit_text(const Casting& one, const std::string& why);

}  // namespace cavigram
