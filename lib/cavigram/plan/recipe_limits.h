// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/plan/plan.h"

namespace cavigram {

/// A skin volume known less well than this is no basis for its grams: as well as a stated density
/// is taken to be known. Common practice, no source.
inline constexpr double kWorstSkinShare = 0.1;

/// A part of which so little is sure that no figure of it can be trusted, whatever is asked: a
/// stop.
///
/// \pre plan.measures
[[nodiscard]] std::vector<Finding> measure_findings(const Plan& plan);

/// What makes the grams of a plan no recipe although each of its figures was computed: stops, each
/// with what would do.
///
/// `volume_unsure`: the file's volume lies between so wide bounds that what just fills the largest
/// cavity packs the smallest beyond what is usual (the card's packing, high over low).
/// `skin_unsure`: the skin's volume is known less well than kWorstSkinShare.
/// `too_much_at_once`: a cup of more than kStirredByHand_g, unless its size was asked for.
/// `bursts_mold`: it presses harder than anything strapped by hand holds (kStrappedByHand_kpa),
/// unless the mold is said to hold that. O(1).
///
/// \pre plan.foam
[[nodiscard]] std::vector<Finding> recipe_findings(const Plan& plan);

}  // namespace cavigram
