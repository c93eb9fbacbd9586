// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/column_tree.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/vector.h"
#include "cavigram/spatial/orient.h"
#include "cavigram/venting/air_tree_detail.h"

namespace cavigram {

using detail::along;
using detail::at;

namespace {

// A triangle met by a column: looking up 1, down -1.
struct Crossing {
    std::int32_t column = 0;
    int facing = 0;
    double height = 0.0;
};

struct Interval {
    double top = 0.0;
    double bottom = 0.0;
    std::int32_t column = 0;
};

// The columns' centers in the plane across the direction.
struct Grid {
    Frame frame;
    Vec3 center_mm;
    Vec2 origin;  // center of the first column
    double spacing = 0.0;
    std::int32_t nx = 0;
    std::int32_t ny = 0;

    [[nodiscard]] Vec3 local(const Vec3& p) const { return frame.local(p - center_mm); }
    [[nodiscard]] Vec2 center(std::int32_t x, std::int32_t y) const {
        return origin + spacing * Vec2(x, y);
    }
};

Grid grid_for(const TriMesh& mesh, const Vec3& up, int columns) {
    Grid grid;
    grid.frame = frame_along(up);
    grid.center_mm = bounds(mesh).center();
    Box3 box;
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            box.extend(grid.local(at(mesh.vertices, v)));
        }
    }
    const Vec3 size = box.sizes();
    grid.spacing = std::max(size.x(), size.y()) / columns;
    if (!(grid.spacing > 0.0)) {
        grid.spacing = 1.0;  // a part without breadth: one column, which misses it
    }
    // A side that is a whole number of spacings, but for rounding, gets no column more.
    constexpr double kRounding = 1e-9;
    const auto count = [&](double side) {
        return std::max<std::int32_t>(
            1, static_cast<std::int32_t>(std::ceil(side / grid.spacing - kRounding)));
    };
    grid.nx = count(size.x());
    grid.ny = count(size.y());
    // The columns sit in the middle of the box, so that a part's symmetry is kept.
    grid.origin = box.center().head<2>() - 0.5 * grid.spacing * Vec2(grid.nx - 1, grid.ny - 1);
    return grid;
}

std::vector<Crossing> crossings_of(const Grid& grid, const TriMesh& mesh, const Block& block) {
    std::vector<Crossing> found;
    for (std::size_t t = block.begin; t < block.end; ++t) {
        const Vec3 a = grid.local(mesh.corner(t, 0));
        const Vec3 b = grid.local(mesh.corner(t, 1));
        const Vec3 c = grid.local(mesh.corner(t, 2));
        const Vec2 low = a.cwiseMin(b).cwiseMin(c).head<2>() - grid.origin;
        const Vec2 high = a.cwiseMax(b).cwiseMax(c).head<2>() - grid.origin;
        // One column more on each side: triangle_winding() decides.
        const auto first = [&](double x) {
            return std::max(0, static_cast<int>(std::ceil(x / grid.spacing)) - 1);
        };
        const auto last = [&](double x, std::int32_t n) {
            return std::min(n - 1, static_cast<int>(std::floor(x / grid.spacing)) + 1);
        };
        const Vec3 normal = (b - a).cross(c - a);
        for (int y = first(low.y()); y <= last(high.y(), grid.ny); ++y) {
            for (int x = first(low.x()); x <= last(high.x(), grid.nx); ++x) {
                const Vec2 p = grid.center(x, y);
                const int facing = triangle_winding(a.head<2>(), b.head<2>(), c.head<2>(), p);
                if (facing != 0) {
                    const double z =
                        a.z() -
                        (normal.x() * (p.x() - a.x()) + normal.y() * (p.y() - a.y())) / normal.z();
                    // A triangle nearly edge-on may give any height; the true one is within it.
                    const auto [least, most] = std::minmax({a.z(), b.z(), c.z()});
                    found.push_back({x + grid.nx * y, facing,
                                     std::isfinite(z) ? std::clamp(z, least, most) : most});
                }
            }
        }
    }
    return found;
}

// Intervals of all columns, each column's from the top down.
std::vector<Interval> intervals_of(std::vector<Crossing> crossings) {
    // Where two sheets touch, the one that the solid begins under comes first: touching solids
    // count as one there.
    std::stable_sort(crossings.begin(), crossings.end(), [](const Crossing& p, const Crossing& q) {
        if (p.column != q.column) {
            return p.column < q.column;
        }
        return p.height != q.height ? p.height > q.height : p.facing > q.facing;
    });
    std::vector<Interval> intervals;
    int winding = 0;
    for (std::size_t i = 0; i < crossings.size(); ++i) {
        const Crossing& c = crossings[i];
        if (i == 0 || crossings[i - 1].column != c.column) {
            winding = 0;
        }
        const int next = winding + c.facing;
        if (winding <= 0 && next > 0) {
            intervals.push_back({c.height, c.height, c.column});
        } else if (winding > 0 && next <= 0) {
            intervals.back().bottom = c.height;
        }
        winding = next;
    }
    std::erase_if(intervals, [](const Interval& i) { return !(i.top > i.bottom); });
    return intervals;
}

// The union-find sweep over intervals from the highest top down.
class ColumnSweep {
  public:
    ColumnSweep(const Grid& grid, std::vector<Interval> intervals)
        : grid_(grid), intervals_(std::move(intervals)), arc_of_(intervals_.size(), -1) {
        const auto columns = static_cast<std::size_t>(grid.nx) * static_cast<std::size_t>(grid.ny);
        first_.assign(columns + 1, 0);
        for (const Interval& i : intervals_) {
            ++at(first_, i.column + 1);
        }
        std::partial_sum(first_.begin(), first_.end(), first_.begin());
    }

    void run(ColumnTree& tree) {
        std::vector<std::int32_t> order(intervals_.size());
        std::iota(order.begin(), order.end(), 0);
        const auto higher = [this](std::int32_t i, std::int32_t j) {
            const double p = at(intervals_, i).top;
            const double q = at(intervals_, j).top;
            return p != q ? p > q : i < j;
        };
        std::sort(order.begin(), order.end(), higher);
        for (const std::int32_t i : order) {
            const std::int32_t column = at(intervals_, i).column;
            const std::int32_t x = column % grid_.nx;
            meet(i, column - 1, x > 0);
            meet(i, column + 1, x + 1 < grid_.nx);
            meet(i, column - grid_.nx, column >= grid_.nx);
            meet(i, column + grid_.nx, column + grid_.nx < grid_.nx * grid_.ny);
            at(arc_of_, i) = forest_.add(i, higher);
        }
        tree.arcs = forest_.finished([this](std::int32_t i) { return at(intervals_, i).top; });
        // The lowest interval of a root hangs below its own top.
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
        add_volumes(tree);
        place(tree);
    }

  private:
    // Links an interval to the one in a neighboring column that holds its top. Any other one that
    // it overlaps has a lower top and will find this one.
    void meet(std::int32_t i, std::int32_t column, bool there) {
        if (!there) {
            return;
        }
        const double top = at(intervals_, i).top;
        for (std::int32_t j = at(first_, column); j < at(first_, column + 1); ++j) {
            if (at(arc_of_, j) >= 0 && at(intervals_, j).bottom < top) {
                // Already added, so its top is no lower.
                forest_.meet(at(arc_of_, j));
                return;
            }
        }
    }

    void add_volumes(ColumnTree& tree) const {
        std::vector<detail::ArcSums> sums(tree.arcs.size());
        const double area = grid_.spacing * grid_.spacing;
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
        const double offset = along(grid_.frame.z, grid_.center_mm);
        for (const Interval& i : intervals_) {
            tree.intervals.push_back(
                {i.column % grid_.nx, i.column / grid_.nx, i.top + offset, i.bottom + offset});
        }
        for (AirTree::Arc& arc : tree.arcs) {
            const Interval& peak = at(intervals_, arc.peak_vertex);
            const Vec2 p = grid_.center(peak.column % grid_.nx, peak.column / grid_.nx);
            tree.peak_mm.push_back(grid_.center_mm +
                                   grid_.frame.world(Vec3(p.x(), p.y(), peak.top)));
            arc.peak_height_mm += offset;
            arc.top_height_mm += offset;
            arc.saddle_height_mm += offset;
        }
        tree.roots = detail::roots_of(tree.arcs);
    }

    const Grid& grid_;
    std::vector<Interval> intervals_;
    std::vector<std::int32_t> first_;  // of each column
    std::vector<std::int32_t> arc_of_;
    detail::ArcForest forest_;
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
    const Grid grid = grid_for(mesh_mm, up, options.columns);
    std::vector<Crossing> crossings;
    for (const std::vector<Crossing>& found : map_blocks<std::vector<Crossing>>(
             mesh_mm.triangles.size(), 8192, context,
             [&](const Block& block) { return crossings_of(grid, mesh_mm, block); })) {
        crossings.insert(crossings.end(), found.begin(), found.end());
    }
    ColumnTree tree;
    tree.up = grid.frame.z;
    tree.spacing_mm = grid.spacing;
    ColumnSweep(grid, intervals_of(std::move(crossings))).run(tree);
    return tree;
}

}  // namespace cavigram
