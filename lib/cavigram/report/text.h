// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// What a person at the bench reads: one fact a line, grams first where grams are asked for, metric
/// and US customary units side by side, each figure with its range or what it rests on. Plain
/// ASCII, at most 100 columns, ends in a line break.
[[nodiscard]] std::string inspect_text(const Plan& plan);
[[nodiscard]] std::string thin_text(const Plan& plan);     ///< \pre plan.thin
[[nodiscard]] std::string weigh_text(const Plan& plan);    ///< \pre plan.foam
[[nodiscard]] std::string vent_text(const Plan& plan);     ///< \pre plan.air
[[nodiscard]] std::string orient_text(const Plan& plan);   ///< \pre plan.orientations
[[nodiscard]] std::string bench_text(const Plan& plan);    ///< \pre plan.foam, plan.bench
[[nodiscard]] std::string summary_text(const Plan& plan);  ///< \pre all of them

/// One card, line by line.
[[nodiscard]] std::string foam_card_text(const FoamCard& card);
/// The cards that the program ships, one a line.
[[nodiscard]] std::string foam_list_text();

}  // namespace cavigram
