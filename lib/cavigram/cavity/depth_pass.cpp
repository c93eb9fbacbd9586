// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>

#include "cavigram/cavity/cube_cut_detail.h"
#include "cavigram/cavity/depth_pass_detail.h"
#include "cavigram/core/parallel.h"
#include "cavigram/core/sum.h"
#include "cavigram/geom/directions.h"
#include "cavigram/spatial/vicinity.h"

namespace cavigram::detail {

namespace {

// The most cubes of the first grid: enough to keep the threads evenly busy.
constexpr double kRoots = 4096.0;

// The grid's own axes, turned oddly against the part's. Parts made on a computer have flat walls
// along their axes; against a grid along the same axes each cell at a wall or an edge errs by the
// same amount, and the errors add up instead of canceling.
Frame grid_axes() {
    Frame axes;
    axes.x = Vec3(0.7431, -0.5186, 0.4229).normalized();
    axes.y = axes.x.cross(Vec3(0.2718, 0.3141, -0.8437)).normalized();
    axes.z = axes.x.cross(axes.y);
    return axes;
}

// Depth at a point, negative on the other side, with the direction in which it grows, in the grid's
// axes.
struct Sample {
    Vec3 center = Vec3::Zero();
    Vec3 uphill = Vec3::Zero();
    double depth = 0.0;
    std::int32_t triangle = -1;
    bool inside = false;
};

// Sums for each level: `full[i]` counts for all levels below i, `part[i]` for level i alone.
class LevelSums {
  public:
    explicit LevelSums(std::size_t levels) : full_(levels + 1, 0.0), part_(levels, 0.0) {}

    void add_full(std::size_t levels_below, double volume) { full_[levels_below] += volume; }
    void add_part(std::size_t level, double volume) { part_[level] += volume; }

    // The totals, adding what stands in each block in the blocks' order.
    void add_to(std::vector<CompensatedSum>& totals) const {
        double above = 0.0;
        for (std::size_t i = part_.size(); i-- > 0;) {
            above += full_[i + 1];
            totals[i].add(above);
            totals[i].add(part_[i]);
        }
    }

  private:
    std::vector<double> full_;
    std::vector<double> part_;
};

struct BlockSums {
    explicit BlockSums(std::size_t levels)
        : fine(levels), coarse(levels), certain(levels), possible(levels) {}
    BlockSums() : BlockSums(0) {}

    LevelSums fine;
    LevelSums coarse;
    LevelSums certain;
    LevelSums possible;
    std::size_t cells = 0;
};

class Walker {
  public:
    Walker(const TriangleBvh& surface, const Frame& axes, const PassOptions& options,
           std::atomic<std::size_t>& spent)
        : surface_(surface),
          axes_(axes),
          options_(options),
          spent_(spent),
          sums_(options.levels_mm.size()) {}

    void root(const Vec3& center, double edge) {
        const Vicinity all(surface_);
        const Sample cell = sample(center, nullptr, all);
        if (beyond_all(cell, edge)) {
            add_whole(edge);
        } else if (cell.depth + half_diagonal(edge) > options_.levels_mm.front()) {
            divide(cell, edge, all);
        }
    }

    [[nodiscard]] BlockSums take() {
        spent_ += unreported_;
        return std::move(sums_);
    }

  private:
    static double half_diagonal(double edge) { return 0.5 * std::sqrt(3.0) * edge; }

    // `near` is a sample nearby, for a first guess and for the side it lies on.
    Sample sample(const Vec3& center, const Sample* near, const Vicinity& around) {
        ++sums_.cells;
        ++unreported_;
        Sample s;
        s.center = center;
        const Vec3 point = axes_.world(center);
        const NearestPoint nearest = around.nearest(point, near != nullptr ? near->triangle : -1);
        s.triangle = nearest.triangle;
        const double distance = nearest.distance_mm;
        // No surface crosses the ball around either point, so within it both lie on the same side.
        const bool same_side =
            near != nullptr && (center - near->center).norm() <
                                   std::max(distance, std::abs(near->depth)) * (1.0 - 1e-12);
        s.inside = same_side ? near->inside : surface_.inside(point);
        const double side = s.inside == (options_.side == DepthSide::inside) ? 1.0 : -1.0;
        s.depth = side * distance;
        const Vec3 away = side * axes_.local(point - nearest.point_mm);
        s.uphill = distance > 0.0 ? Vec3(away / distance) : Vec3(Vec3::Zero());
        return s;
    }

    // Outside there is no deepest point: what lies beyond the last level throughout counts for all
    // and needs no finer cells.
    [[nodiscard]] bool beyond_all(const Sample& cell, double edge) const {
        return options_.side == DepthSide::outside &&
               cell.depth - half_diagonal(edge) >= options_.levels_mm.back();
    }

    void add_whole(double edge) {
        const double volume = edge * edge * edge;
        for (LevelSums* sums : {&sums_.fine, &sums_.coarse, &sums_.certain, &sums_.possible}) {
            sums->add_full(options_.levels_mm.size(), volume);
        }
    }

    // The largest edge that a cell at this depth may have.
    [[nodiscard]] double wanted_edge(double least_depth) const {
        return std::max(least_depth, options_.wanted_mm) / options_.per_depth * (1.0 + 1e-9);
    }

    // `around` is a vicinity of the cell or of a larger one.
    void divide(const Sample& cell, double edge, const Vicinity& around) {
        if (unreported_ > 4096) {
            spent_ += unreported_;
            unreported_ = 0;
        }
        if (spent_ > options_.max_cells) {
            return;
        }
        const Vicinity own =
            around.within(axes_.world(cell.center), std::abs(cell.depth), half_diagonal(edge));
        const double half = 0.5 * edge;
        const double reach = half_diagonal(half);
        const double first = options_.levels_mm.front();
        // A pass half as fine would stop here.
        const bool coarse_enough =
            half <= wanted_edge(std::max(cell.depth - half_diagonal(edge), first));
        for (int i = 0; i < 8; ++i) {
            const Vec3 to(i & 1 ? 0.5 : -0.5, i & 2 ? 0.5 : -0.5, i & 4 ? 0.5 : -0.5);
            const Sample child = sample(cell.center + half * to, &cell, own);
            const bool fine = half <= wanted_edge(std::max(child.depth - reach, first));
            // Shallow throughout, which the parent's plane need not know.
            const bool shallow = child.depth + reach <= first;
            if (beyond_all(child, half)) {
                add_whole(half);
            } else if (fine || (shallow && coarse_enough)) {
                finish(child, cell, half);
            } else if (!shallow) {
                divide(child, half, own);
            }
        }
    }

    // Adds a finest cell to the sums.
    void finish(const Sample& cell, const Sample& parent, double edge) {
        const double volume = edge * edge * edge;
        add_cut(sums_.fine, cell.depth, edge * cell.uphill, volume);
        add_cut(sums_.coarse, parent.depth + parent.uphill.dot(cell.center - parent.center),
                edge * parent.uphill, volume);
        const double reach = half_diagonal(edge);
        sums_.certain.add_full(levels_up_to(cell.depth - reach), volume);
        sums_.possible.add_full(levels_up_to(cell.depth + reach), volume);
    }

    // Number of levels that are no deeper than `depth`.
    [[nodiscard]] std::size_t levels_up_to(double depth) const {
        const std::vector<double>& levels = options_.levels_mm;
        return static_cast<std::size_t>(std::upper_bound(levels.begin(), levels.end(), depth) -
                                        levels.begin());
    }

    void add_cut(LevelSums& sums, double depth, const Vec3& gradient, double volume) const {
        const CubeCut cut(gradient);
        if (depth + cut.reach() <= options_.levels_mm.front()) {
            return;
        }
        std::size_t level = levels_up_to(depth - cut.reach());
        sums.add_full(level, volume);
        for (; level < options_.levels_mm.size(); ++level) {
            const double share = cut.above(depth, options_.levels_mm[level]);
            if (share <= 0.0) {
                break;
            }
            sums.add_part(level, share * volume);
        }
    }

    const TriangleBvh& surface_;
    const Frame& axes_;
    const PassOptions& options_;
    std::atomic<std::size_t>& spent_;
    BlockSums sums_;
    std::size_t unreported_ = 0;
};

std::vector<double> totals(const std::vector<BlockSums>& blocks, LevelSums BlockSums::*which,
                           std::size_t levels) {
    std::vector<CompensatedSum> sums(levels);
    for (const BlockSums& block : blocks) {
        (block.*which).add_to(sums);
    }
    std::vector<double> values;
    values.reserve(levels);
    for (const CompensatedSum& sum : sums) {
        values.push_back(sum.value());
    }
    return values;
}

}  // namespace

PassResult depth_pass(const TriangleBvh& surface, const PassOptions& options,
                      const RunContext& context) {
    PassResult result;
    result.cell_mm = options.wanted_mm / options.per_depth;
    // The first grid: cubes of the finest edge times a power of two.
    const Frame axes = grid_axes();
    Box3 box;
    for (int i = 0; i < 8; ++i) {
        const Box3& part = surface.bounds_mm();
        box.extend(axes.local(Vec3(i & 1 ? part.max().x() : part.min().x(),
                                   i & 2 ? part.max().y() : part.min().y(),
                                   i & 4 ? part.max().z() : part.min().z())));
    }
    if (options.side == DepthSide::outside) {
        const Vec3 margin = Vec3::Constant(options.levels_mm.back());
        box = Box3(box.min() - margin, box.max() + margin);
    }
    double edge = 2.0 * result.cell_mm;
    const auto cells_on = [&](int axis) { return std::floor(box.sizes()[axis] / edge) + 2.0; };
    while (cells_on(0) * cells_on(1) * cells_on(2) > kRoots) {
        edge *= 2.0;
    }
    const Vec3 corner = box.min() - edge * Vec3(0.37, 0.21, 0.43);
    const std::array<std::size_t, 3> count{static_cast<std::size_t>(cells_on(0)),
                                           static_cast<std::size_t>(cells_on(1)),
                                           static_cast<std::size_t>(cells_on(2))};
    result.grid_mm3 = static_cast<double>(count[0] * count[1] * count[2]) * edge * edge * edge;
    std::atomic<std::size_t> spent{0};
    const auto blocks =
        map_blocks<BlockSums>(count[0] * count[1] * count[2], 1, context, [&](const Block& block) {
            const std::size_t i = block.begin;
            const std::size_t row = i / count[0];
            const std::size_t layer = row / count[1];
            const Vec3 place(static_cast<double>(i % count[0]) + 0.5,
                             static_cast<double>(row % count[1]) + 0.5,
                             static_cast<double>(layer) + 0.5);
            Walker walker(surface, axes, options, spent);
            walker.root(corner + edge * place, edge);
            return walker.take();
        });
    for (const BlockSums& block : blocks) {
        result.cells += block.cells;
    }
    result.over_budget = spent > options.max_cells;
    const std::size_t levels = options.levels_mm.size();
    result.fine = totals(blocks, &BlockSums::fine, levels);
    result.coarse = totals(blocks, &BlockSums::coarse, levels);
    result.certain = totals(blocks, &BlockSums::certain, levels);
    result.possible = totals(blocks, &BlockSums::possible, levels);
    return result;
}

}  // namespace cavigram::detail
