// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/pockets.h"

namespace cavigram::detail {

// What stays of each arc's air when the level has risen past all openings.
struct TrappedArcs {
    std::vector<double> open_mm;  // highest opening of the arc's piece; -infinity: none
    std::vector<double> own_mm3;  // trapped part of the arc alone
    std::vector<char> trapped;    // at its top the piece has no opening left
};

// The air of an arc at level t is free while its piece has an opening at t or above. So the arc is
// trapped above the highest opening of its piece, and all of it when that lies above the arc.
TrappedArcs trapped_arcs(const AirTreeBuilder& solid, const AirTree& tree,
                         std::span<const Opening> openings);

// A tree taken apart into branches: where pieces meet, the one with the highest peak goes on and
// the others end (Edelsbrunner, Letscher & Zomorodian, Discrete Comput. Geom. 28 (2002) 511).
struct Branch {
    std::int32_t arc = -1;  // its lowest arc
    std::int32_t parent = -1;
};

// Branches of the arcs that are `in`; one whose parent arc is not in has no parent. Parents before
// children.
std::vector<Branch> branches(std::span<const AirTree::Arc> arcs, std::span<const char> in);

}  // namespace cavigram::detail
