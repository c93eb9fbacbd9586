// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <numeric>
#include <span>
#include <vector>

#include "cavigram/venting/air_tree_detail.h"

namespace cavigram::detail {

// Which stretches lie in which column of a grid, where the stretches stand column by column.
class ColumnRows {
  public:
    // `columns` gives each stretch's column, rising.
    ColumnRows(std::int32_t count_x, std::int32_t count_y, std::span<const std::int32_t> columns)
        : count_x_(count_x),
          count_y_(count_y),
          first_(static_cast<std::size_t>(count_x) * static_cast<std::size_t>(count_y) + 1, 0) {
        for (const std::int32_t column : columns) {
            ++at(first_, column + 1);
        }
        std::partial_sum(first_.begin(), first_.end(), first_.begin());
    }

    // The stretches of a column are those from begin to before end.
    [[nodiscard]] std::int32_t begin(std::int32_t column) const { return at(first_, column); }
    [[nodiscard]] std::int32_t end(std::int32_t column) const { return at(first_, column + 1); }

    // Shows `visit` all stretches of the four columns beside one.
    template <class Visit>
    void beside(std::int32_t column, const Visit& visit) const {
        const std::int32_t x = column % count_x_;
        const std::int32_t y = column / count_x_;
        const auto row = [&](bool there, std::int32_t other) {
            for (std::int32_t i = there ? begin(other) : 0; there && i < end(other); ++i) {
                visit(i);
            }
        };
        row(x > 0, column - 1);
        row(x + 1 < count_x_, column + 1);
        row(y > 0, column - count_x_);
        row(y + 1 < count_y_, column + count_x_);
    }

  private:
    std::int32_t count_x_;
    std::int32_t count_y_;
    std::vector<std::int32_t> first_;
};

// The join tree of stretches; peak_vertex and saddle_vertex of its arcs are indices of stretches.
struct StretchTree {
    std::vector<AirTree::Arc> arcs;
    std::vector<std::int32_t> arc_of;  // each stretch
};

// Sweeps stretches from the highest top down with union-find; of equal tops the lower index goes
// first. `top` gives a stretch's top, `neighbors(i, visit)` shows `visit` those that touch i, and
// `linked(i, j)` says which of these count. O(n log n + neighbors)
template <class Top, class Neighbors, class Linked>
StretchTree stretch_tree(std::size_t count, const Top& top, const Neighbors& neighbors,
                         const Linked& linked) {
    const auto higher = [&](std::int32_t i, std::int32_t j) {
        const double p = top(i);
        const double q = top(j);
        return p != q ? p > q : i < j;
    };
    std::vector<std::int32_t> order(count);
    std::iota(order.begin(), order.end(), 0);
    std::sort(order.begin(), order.end(), higher);
    StretchTree tree;
    tree.arc_of.assign(count, -1);
    ArcForest forest;
    for (const std::int32_t i : order) {
        neighbors(i, [&](std::int32_t j) {
            if (at(tree.arc_of, j) >= 0 && linked(i, j)) {
                forest.meet(at(tree.arc_of, j));
            }
        });
        at(tree.arc_of, i) = forest.add(i, higher);
    }
    tree.arcs = forest.finished(top);
    return tree;
}

}  // namespace cavigram::detail
