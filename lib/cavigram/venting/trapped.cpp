// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <limits>

#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/plateau.h"
#include "cavigram/venting/trapped_detail.h"

namespace cavigram::detail {

TrappedArcs trapped_arcs(const AirTreeBuilder& solid, const AirTree& tree,
                         std::span<const Opening> openings) {
    TrappedArcs result;
    const std::size_t count = tree.arcs.size();
    result.open_mm.assign(count, -std::numeric_limits<double>::infinity());
    result.own_mm3.resize(count);
    result.trapped.resize(count);
    for (const Opening& opening : openings) {
        if (!opening.lets_air_out) {
            continue;
        }
        double& open = at(result.open_mm, opening.arc);
        open = std::max(open, opening.height_mm);
    }
    const double tolerance = kLevelShare * solid.bounds_mm().diagonal().norm();
    std::vector<double> children(count, 0.0);
    for (std::size_t i = 0; i < count; ++i) {
        const AirTree::Arc& arc = tree.arcs[i];
        const double open = result.open_mm[i];
        const double in_children = children[i];
        result.trapped[i] = open < arc.top_height_mm - tolerance ? 1 : 0;
        if (result.trapped[i] == 0) {
            result.own_mm3[i] = 0.0;
        } else if (open <= arc.saddle_height_mm) {
            result.own_mm3[i] = arc.own_mm3;
        } else {
            const double above = solid.volume_above_mm3(tree, static_cast<std::int32_t>(i), open);
            result.own_mm3[i] = above - in_children;
        }
        if (arc.parent >= 0) {
            at(children, arc.parent) += arc.volume_mm3;
            double& parent = at(result.open_mm, arc.parent);
            parent = std::max(parent, open);
        }
    }
    return result;
}

std::vector<Branch> branches(std::span<const AirTree::Arc> arcs, std::span<const char> in,
                             double level_mm) {
    std::vector<Branch> result;
    std::vector<std::int32_t> branch_of(arcs.size(), -1);
    for (std::size_t i = arcs.size(); i-- > 0;) {
        if (in[i] == 0) {
            continue;
        }
        const std::int32_t p = arcs[i].parent;
        const std::int32_t below = p >= 0 ? at(branch_of, p) : -1;
        const bool goes_on =
            below >= 0 && arcs[i].peak_vertex == at(arcs, at(result, below).arc).peak_vertex;
        if (goes_on || arcs[i].top_height_mm - arcs[i].saddle_height_mm <= level_mm) {
            branch_of[i] = below;
        } else {
            branch_of[i] = static_cast<std::int32_t>(result.size());
            result.push_back({static_cast<std::int32_t>(i), below});
        }
    }
    return result;
}

}  // namespace cavigram::detail
