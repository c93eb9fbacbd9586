// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/plan/display.h"
#include "cavigram/plan/session.h"

namespace cavigram::detail {

// What is drawn, and what of the part lies next to each of its vertices.
struct ShownPart {
    const TriMesh& mesh;
    const std::vector<ShownNeighbor>& neighbors;
};

// The air for one way up with its pockets as they can be drawn; nothing yet of grams.
TurnedAir turned_air(const AirTreeBuilder& solid, const AirTree& tree, const PlacedHoles& holes,
                     const AirOptions& options, const AirConditions& conditions,
                     const ShownPart& shown);

}  // namespace cavigram::detail
