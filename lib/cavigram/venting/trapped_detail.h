// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdint>
#include <numeric>
#include <span>
#include <utility>
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
// trapped above the highest opening of its piece, and all of it when that lies above the arc, or
// when there is none. Openings that let no air out do not count.
TrappedArcs trapped_arcs(const AirTreeBuilder& solid, const AirTree& tree,
                         std::span<const Opening> openings);

// A tree taken apart into branches: where pieces meet, the one with the highest peak goes on and
// the others end (Edelsbrunner, Letscher & Zomorodian, Discrete Comput. Geom. 28 (2002) 511).
struct Branch {
    std::int32_t arc = -1;  // its lowest arc
    std::int32_t parent = -1;
};

// Branches of the arcs that are `in`; one whose parent arc is not in has no parent. Parents before
// children. An arc no higher than `level_mm` is passed through: where three or more pieces meet at
// one height they meet as equals, not two by two, and a level ceiling makes no pieces.
std::vector<Branch> branches(std::span<const AirTree::Arc> arcs, std::span<const char> in,
                             double level_mm);

// Sorts pockets or pools largest first, among equals the lower arc, which holds the others; parents
// are renumbered.
template <class Nested>
void sort_nested(std::vector<Nested>& list) {
    std::vector<std::int32_t> order(list.size());
    std::iota(order.begin(), order.end(), 0);
    std::sort(order.begin(), order.end(), [&](std::int32_t i, std::int32_t j) {
        const Nested& p = list[static_cast<std::size_t>(i)];
        const Nested& q = list[static_cast<std::size_t>(j)];
        return p.volume_mm3 != q.volume_mm3 ? p.volume_mm3 > q.volume_mm3 : p.arc > q.arc;
    });
    std::vector<std::int32_t> place(list.size());
    std::vector<Nested> sorted;
    for (const std::int32_t i : order) {
        place[static_cast<std::size_t>(i)] = static_cast<std::int32_t>(sorted.size());
        sorted.push_back(list[static_cast<std::size_t>(i)]);
    }
    for (Nested& item : sorted) {
        item.parent = item.parent < 0 ? -1 : place[static_cast<std::size_t>(item.parent)];
    }
    list = std::move(sorted);
}

}  // namespace cavigram::detail
