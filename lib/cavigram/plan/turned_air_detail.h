// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/plan/session.h"

namespace cavigram::detail {

// The air for one way up with its pockets as they can be drawn; nothing yet of grams.
TurnedAir turned_air(const AirTreeBuilder& solid, const AirTree& tree, const PlacedHoles& holes,
                     const AirOptions& options, const AirConditions& conditions);

}  // namespace cavigram::detail
