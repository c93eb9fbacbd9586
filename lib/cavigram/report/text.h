// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <string>

#include "cavigram/core/told.h"
#include "cavigram/plan/plan.h"

namespace cavigram {

/// How a page of text is laid out.
struct TextStyle {
    UnitSystem first = UnitSystem::metric;  ///< Whose units come first.
    bool detail = false;                    ///< Everything; otherwise what one acts on.
    std::size_t columns = 100;              ///< At which it wraps; 40 at least.
    /// The grams at the end, where the eye is on a terminal that has scrolled; else at the head.
    bool pour_last = false;
};

/// What a person at the bench reads: one fact a line, grams first where grams are asked for, metric
/// and US customary units side by side, each figure with its range or what it rests on. Plain
/// ASCII, ends in a line break.
[[nodiscard]] std::string inspect_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.thin
[[nodiscard]] std::string thin_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.foam
[[nodiscard]] std::string weigh_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.air
[[nodiscard]] std::string vent_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.orientations
[[nodiscard]] std::string orient_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.split
[[nodiscard]] std::string split_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.foam, plan.bench
[[nodiscard]] std::string bench_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.foam, plan.mold
[[nodiscard]] std::string mold_text(const Plan& plan, const TextStyle& style = {});
/// Weight in the hand, droop, armature.
///
/// \pre plan.handle and plan.foam
[[nodiscard]] std::string handle_text(const Plan& plan, const TextStyle& style = {});
/// \pre plan.foam, plan.air, plan.bench
[[nodiscard]] std::string rise_text(const Plan& plan, const TextStyle& style = {});
/// The whole plan.
///
/// \pre all of them
[[nodiscard]] std::string summary_text(const Plan& plan, const TextStyle& style = {});

/// One card, line by line.
[[nodiscard]] std::string foam_card_text(const FoamCard& card);
/// The cards that the program ships, one a line.
[[nodiscard]] std::string foam_list_text();

}  // namespace cavigram
