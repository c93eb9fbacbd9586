// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/column_tree.h"

#include <algorithm>
#include <limits>
#include <utility>

#include <fmt/core.h>

#include "cavigram/cavity/columns.h"
#include "cavigram/core/error.h"
#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/column_sweep_detail.h"

namespace cavigram {

using detail::at;
using detail::dot;

namespace {

struct Interval {
    double top = 0.0;
    double bottom = 0.0;
    std::int32_t column = 0;
};

// Intervals of all columns, each column's from the top down.
std::vector<Interval> intervals_of(const ColumnCut& cut) {
    std::vector<Interval> intervals;
    for (std::int32_t column = 0; column < cut.count_x * cut.count_y; ++column) {
        const std::vector<ColumnStretch> inside =
            cut.inside(column % cut.count_x, column / cut.count_x);
        for (auto stretch = inside.rbegin(); stretch != inside.rend(); ++stretch) {
            intervals.push_back({stretch->to_mm, stretch->from_mm, column});
        }
    }
    return intervals;
}

std::vector<std::int32_t> columns_of(const std::vector<Interval>& intervals) {
    std::vector<std::int32_t> columns;
    columns.reserve(intervals.size());
    for (const Interval& interval : intervals) {
        columns.push_back(interval.column);
    }
    return columns;
}

// The join tree of the intervals of a cut, with volumes and places.
class ColumnSweep {
  public:
    // `center_mm`: where the origin of the cut lies in the part's own coordinates.
    ColumnSweep(const ColumnCut& cut, const Vec3& center_mm)
        : cut_(cut),
          center_mm_(center_mm),
          intervals_(intervals_of(cut)),
          rows_(cut.count_x, cut.count_y, columns_of(intervals_)) {}

    void run(ColumnTree& tree) {
        detail::StretchTree swept = detail::stretch_tree(
            intervals_.size(), [this](std::int32_t i) { return at(intervals_, i).top; },
            [this](std::int32_t i, const auto& visit) {
                rows_.beside(at(intervals_, i).column, visit);
            },
            [this](std::int32_t i, std::int32_t j) {
                return at(intervals_, j).bottom < at(intervals_, i).top &&
                       at(intervals_, j).top > at(intervals_, i).bottom;
            });
        arc_of_ = std::move(swept.arc_of);
        tree.arcs = std::move(swept.arcs);
        lower_roots(tree);
        add_volumes(tree);
        place(tree);
    }

  private:
    // The lowest interval of a root reaches below its own top.
    void lower_roots(ColumnTree& tree) const {
        std::vector<double> lowest(tree.arcs.size(), std::numeric_limits<double>::infinity());
        for (std::size_t i = 0; i < intervals_.size(); ++i) {
            double& low = at(lowest, arc_of_[i]);
            low = std::min(low, intervals_[i].bottom);
        }
        for (std::size_t a = 0; a < tree.arcs.size(); ++a) {
            AirTree::Arc& arc = tree.arcs[a];
            if (arc.parent < 0) {
                arc.saddle_height_mm = lowest[a];
            } else {
                double& low = at(lowest, arc.parent);
                low = std::min(low, lowest[a]);
            }
        }
    }

    void add_volumes(ColumnTree& tree) const {
        std::vector<detail::ArcSums> sums(tree.arcs.size());
        const double area = cut_.spacing_mm * cut_.spacing_mm;
        for (std::size_t i = 0; i < intervals_.size(); ++i) {
            const Interval& interval = intervals_[i];
            std::int32_t a = arc_of_[i];
            while (at(tree.arcs, a).parent >= 0 &&
                   at(tree.arcs, a).saddle_height_mm > interval.bottom) {
                at(sums, a).volume +=
                    area * std::max(interval.top - at(tree.arcs, a).saddle_height_mm, 0.0);
                a = at(tree.arcs, a).parent;
            }
            // An interval is a lid that looks up and a floor that looks down: areas cancel.
            at(sums, a).moment += area * (interval.top - interval.bottom);
        }
        tree.volume_mm3 =
            detail::finish_volumes(tree.arcs, sums, [](const AirTree::Arc&) { return 0.0; });
    }

    // Heights and places in the part's own coordinates.
    void place(ColumnTree& tree) const {
        const double offset = dot(cut_.frame.z, center_mm_);
        for (const Interval& i : intervals_) {
            tree.intervals.push_back({i.column % cut_.count_x, i.column / cut_.count_x,
                                      i.top + offset, i.bottom + offset});
        }
        for (AirTree::Arc& arc : tree.arcs) {
            const Interval& peak = at(intervals_, arc.peak_vertex);
            tree.peak_mm.push_back(center_mm_ + cut_.place_mm(peak.column % cut_.count_x,
                                                              peak.column / cut_.count_x,
                                                              peak.top));
            arc.peak_height_mm += offset;
            arc.top_height_mm += offset;
            arc.saddle_height_mm += offset;
        }
        tree.roots = detail::roots_of(tree.arcs);
    }

    const ColumnCut& cut_;
    Vec3 center_mm_;
    std::vector<Interval> intervals_;
    detail::ColumnRows rows_;
    std::vector<std::int32_t> arc_of_;
};

}  // namespace

ColumnTree column_tree(const TriMesh& mesh_mm, const Vec3& up, const ColumnOptions& options,
                       const RunContext& context) {
    if (!up.allFinite() || up.isZero(0.0)) {
        throw InvalidInput(
            "The direction that is up has no length or is not a number; give three "
            "numbers that are not all zero.");
    }
    constexpr int kMost = 8192;
    if (options.columns < 2 || options.columns > kMost) {
        throw InvalidInput(fmt::format("The number of columns is {}; it must be from 2 to {}.",
                                       options.columns, kMost));
    }
    if (mesh_mm.triangles.empty()) {
        throw UnusableInput("The part has no triangles; read a mesh with a surface.");
    }
    // Cut about the part's middle, so that a part far off loses nothing to rounding.
    const Vec3 center = bounds(mesh_mm).center();
    const ColumnCut cut =
        cut_columns(transformed(mesh_mm, 1.0, -center), up, {.across = options.columns}, context);
    ColumnTree tree;
    tree.up = cut.frame.z;
    tree.spacing_mm = cut.spacing_mm;
    ColumnSweep(cut, center).run(tree);
    return tree;
}

}  // namespace cavigram
