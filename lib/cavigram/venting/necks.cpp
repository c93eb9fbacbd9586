// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/necks.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <utility>

#include <fmt/core.h>

#include "cavigram/cavity/columns.h"
#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/venting/air_tree_detail.h"
#include "cavigram/venting/column_sweep_detail.h"

namespace cavigram {

using detail::at;
using detail::dot;

namespace {

// A stretch of a column with at most one deep stretch in it.
struct Stretch {
    double bottom = 0.0;
    double top = 0.0;
    double deep_bottom = 0.0;
    double deep_top = 0.0;  // not above deep_bottom: nowhere deep
    std::int32_t column = 0;

    [[nodiscard]] bool deep() const { return deep_top > deep_bottom; }
};

// Cuts a column's pieces into stretches.
class Cutter {
  public:
    Cutter(const ColumnCut& cut, const TriangleBvh& surface, double deep_mm)
        : cut_(cut), surface_(surface), deep_mm_(deep_mm), step_mm_(0.25 * cut.spacing_mm) {}

    void column(std::int32_t column, std::vector<Stretch>& stretches) {
        const int x = column % cut_.count_x;
        const int y = column / cut_.count_x;
        for (const ColumnStretch& inside : cut_.inside(x, y)) {
            split(column, x, y, inside.from_mm, inside.to_mm, stretches);
        }
    }

  private:
    // Walks up through one piece. The distance to the surface changes by no more than the way
    // walked, so from depth D the boundary of what is deep is at least |D - deep| away; near it the
    // walk goes on by quarters of the columns' spacing.
    void split(std::int32_t column, int x, int y, double bottom, double top,
               std::vector<Stretch>& stretches) {
        deep_.clear();
        bool was = false;
        double z = bottom;
        while (z < top) {
            const NearestPoint nearest = surface_.nearest(
                cut_.place_mm(x, y, z), std::numeric_limits<double>::infinity(), hint_);
            hint_ = nearest.triangle;
            const double beyond = nearest.distance_mm - deep_mm_;
            const bool is = beyond >= 0.0;
            if (is && !was) {
                deep_.push_back({z, z});
            } else if (!is && was) {
                deep_.back()[1] = z;
            }
            was = is;
            z += std::max(std::abs(beyond), step_mm_);
        }
        if (was) {
            deep_.back()[1] = top;
        }
        if (deep_.empty()) {
            stretches.push_back({bottom, top, 0.0, 0.0, column});
            return;
        }
        for (std::size_t i = 0; i < deep_.size(); ++i) {
            const double from = i == 0 ? bottom : 0.5 * (deep_[i - 1][1] + deep_[i][0]);
            const double to = i + 1 == deep_.size() ? top : 0.5 * (deep_[i][1] + deep_[i + 1][0]);
            stretches.push_back({from, to, deep_[i][0], deep_[i][1], column});
        }
    }

    const ColumnCut& cut_;
    const TriangleBvh& surface_;
    double deep_mm_;
    double step_mm_;
    std::int32_t hint_ = -1;
    std::vector<std::array<double, 2>> deep_;
};

// The air that stays, by stretch.
struct TrappedStretches {
    std::vector<double> air_mm3;
    std::vector<std::int32_t> pocket;  // the pocket of each stretch; -1: none
    std::vector<std::int32_t> peak;    // the highest stretch of each pocket
};

std::vector<std::int32_t> columns_of(const std::vector<Stretch>& stretches) {
    std::vector<std::int32_t> columns;
    columns.reserve(stretches.size());
    for (const Stretch& stretch : stretches) {
        columns.push_back(stretch.column);
    }
    return columns;
}

// The stretches with the links between them, and the air that stays in them.
class Stacks {
  public:
    Stacks(const ColumnCut& cut, std::vector<Stretch> stretches)
        : cut_(cut), all_(std::move(stretches)), rows_(cut.count_x, cut.count_y, columns_of(all_)) {
        find_nearest_seeds();
    }

    [[nodiscard]] TrappedStretches trapped(std::span<const Opening> openings, const Vec3& up,
                                           bool closed) const;

    [[nodiscard]] const std::vector<Stretch>& all() const { return all_; }
    // Whether nothing deep can be reached through the shallow space that it is in.
    [[nodiscard]] bool has_no_seed(std::size_t i) const { return at(seed_, i) < 0; }
    [[nodiscard]] Vec3 place_mm(std::int32_t i, double height) const {
        const Stretch& s = at(all_, i);
        return cut_.place_mm(s.column % cut_.count_x, s.column / cut_.count_x, height);
    }

  private:
    // Shows `visit` the stretches that touch one: beside it, and in its own column.
    template <class Visit>
    void neighbors(std::int32_t i, const Visit& visit) const {
        const Stretch& s = at(all_, i);
        rows_.beside(s.column, [&](std::int32_t j) {
            if (at(all_, j).bottom < s.top && at(all_, j).top > s.bottom) {
                visit(j);
            }
        });
        if (i > rows_.begin(s.column) && at(all_, i - 1).top == s.bottom) {
            visit(i - 1);
        }
        if (i + 1 < rows_.end(s.column) && at(all_, i + 1).bottom == s.top) {
            visit(i + 1);
        }
    }

    [[nodiscard]] bool deep_link(std::int32_t i, std::int32_t j) const {
        const Stretch& p = at(all_, i);
        const Stretch& q = at(all_, j);
        return p.deep() && q.deep() && p.deep_bottom < q.deep_top && q.deep_bottom < p.deep_top;
    }

    // Finds each shallow stretch's nearest seed, the deep stretch fewest steps away from stretch to
    // stretch; of several the one whose way it meets highest up.
    void find_nearest_seeds() {
        seed_.assign(all_.size(), -1);
        parent_.assign(all_.size(), -1);
        std::vector<std::int32_t> front;
        for (std::size_t i = 0; i < all_.size(); ++i) {
            if (all_[i].deep()) {
                seed_[i] = static_cast<std::int32_t>(i);
                front.push_back(static_cast<std::int32_t>(i));
            }
        }
        while (!front.empty()) {
            std::vector<std::int32_t> next;
            for (const std::int32_t i : front) {
                neighbors(i, [&](std::int32_t j) {
                    if (at(seed_, j) >= 0) {
                        return;
                    }
                    std::int32_t& parent = at(parent_, j);
                    if (parent < 0) {
                        next.push_back(j);
                    }
                    const auto meeting = [&](std::int32_t k) {
                        return std::min(at(all_, k).top, at(all_, j).top);
                    };
                    if (parent < 0 || meeting(i) > meeting(parent)) {
                        parent = i;
                    }
                });
            }
            for (const std::int32_t j : next) {
                at(seed_, j) = at(seed_, at(parent_, j));
            }
            front = std::move(next);
        }
    }

    // Whether two deep stretches are one, linked, or linked to a common third.
    [[nodiscard]] bool together(std::int32_t i, std::int32_t j) const {
        bool found = i == j;
        neighbors(i, [&](std::int32_t k) {
            if (!found && deep_link(i, k)) {
                found = k == j;
                neighbors(k, [&](std::int32_t l) { found = found || (l == j && deep_link(k, l)); });
            }
        });
        return found;
    }

    // Whether a link stays when narrow necks are closed.
    [[nodiscard]] bool wide(std::int32_t i, std::int32_t j) const {
        if (deep_link(i, j) || at(parent_, i) == j || at(parent_, j) == i) {
            return true;
        }
        const std::int32_t p = at(seed_, i);
        const std::int32_t q = at(seed_, j);
        if (p < 0 || q < 0) {
            return p == q;  // all of it is narrow: one piece, as it was
        }
        return !(at(all_, i).deep() && at(all_, j).deep()) && together(p, q);
    }

    // The stretch that holds a place of the surface, or the nearest one to it.
    [[nodiscard]] std::int32_t stretch_at(const Vec3& place_mm, double height) const {
        const Vec3 local = cut_.frame.local(place_mm);
        std::int32_t best = -1;
        double least = std::numeric_limits<double>::infinity();
        for (std::size_t i = 0; i < all_.size(); ++i) {
            const Stretch& s = all_[i];
            const std::int32_t column_x = s.column % cut_.count_x;
            const std::int32_t column_y = s.column / cut_.count_x;
            const double x = cut_.corner_mm.x() + (column_x + 0.5) * cut_.spacing_mm;
            const double y = cut_.corner_mm.y() + (column_y + 0.5) * cut_.spacing_mm;
            const double z = std::max({s.bottom - height, height - s.top, 0.0});
            const double away = (local - Vec3(x, y, local.z())).squaredNorm() + z * z;
            if (away < least) {
                least = away;
                best = static_cast<std::int32_t>(i);
            }
        }
        return best;
    }

    [[nodiscard]] std::vector<double> open_heights_mm(const detail::StretchTree& tree,
                                                      std::span<const Opening> openings,
                                                      const Vec3& up) const;

    const ColumnCut& cut_;
    std::vector<Stretch> all_;
    detail::ColumnRows rows_;
    std::vector<std::int32_t> seed_;    // the nearest deep stretch of each; -1: none
    std::vector<std::int32_t> parent_;  // the next on the way there
};

// The height of the highest opening in or above each arc's piece of air; minus infinity: none.
std::vector<double> Stacks::open_heights_mm(const detail::StretchTree& tree,
                                            std::span<const Opening> openings,
                                            const Vec3& up) const {
    const std::vector<AirTree::Arc>& arcs = tree.arcs;
    std::vector<double> open(arcs.size(), -std::numeric_limits<double>::infinity());
    for (const Opening& opening : openings) {
        const double height = dot(up, opening.place_mm);
        const std::int32_t i =
            opening.lets_air_out ? stretch_at(opening.place_mm, height) : std::int32_t{-1};
        if (i < 0) {
            continue;
        }
        // Down from the stretch's own arc to the one that the height lies in.
        std::int32_t a = at(tree.arc_of, i);
        while (at(arcs, a).parent >= 0 && at(arcs, a).saddle_height_mm > height) {
            a = at(arcs, a).parent;
        }
        at(open, a) = std::max(at(open, a), height);
    }
    for (std::size_t a = 0; a < arcs.size(); ++a) {
        if (arcs[a].parent >= 0) {
            at(open, arcs[a].parent) = std::max(at(open, arcs[a].parent), open[a]);
        }
    }
    return open;
}

TrappedStretches Stacks::trapped(std::span<const Opening> openings, const Vec3& up,
                                 bool closed) const {
    const detail::StretchTree tree = detail::stretch_tree(
        all_.size(), [this](std::int32_t i) { return at(all_, i).top; },
        [this](std::int32_t i, const auto& visit) { neighbors(i, visit); },
        [&](std::int32_t i, std::int32_t j) { return !closed || wide(i, j); });
    const std::vector<AirTree::Arc>& arcs = tree.arcs;
    const std::vector<double> open = open_heights_mm(tree, openings, up);
    // An opening on a peak may lie a spacing above the columns' tops, or below them.
    const auto shut = [&](std::int32_t a) {
        return at(open, a) < at(arcs, a).top_height_mm - cut_.spacing_mm;
    };
    const double area = cut_.spacing_mm * cut_.spacing_mm;
    TrappedStretches trapped{
        std::vector<double>(all_.size(), 0.0), std::vector<std::int32_t>(all_.size(), -1), {}};
    for (std::size_t i = 0; i < all_.size(); ++i) {
        double top = all_[i].top;
        std::int32_t a = tree.arc_of[i];
        while (a >= 0 && top > all_[i].bottom && shut(a)) {
            const double down = at(arcs, a).parent < 0
                                    ? all_[i].bottom
                                    : std::max(all_[i].bottom, at(arcs, a).saddle_height_mm);
            trapped.air_mm3[i] += area * std::max(top - std::max(down, at(open, a)), 0.0);
            top = std::min(top, down);
            trapped.pocket[i] = a;
            a = at(arcs, a).parent;
        }
    }
    for (const AirTree::Arc& arc : arcs) {
        trapped.peak.push_back(arc.peak_vertex);
    }
    // The pocket is the lowest shut arc.
    for (std::int32_t& p : trapped.pocket) {
        while (p >= 0 && at(arcs, p).parent >= 0 && shut(at(arcs, p).parent)) {
            p = at(arcs, p).parent;
        }
    }
    return trapped;
}

}  // namespace

NarrowNecks narrow_necks(const TriMesh& mesh_mm, const TriangleBvh& surface, const Vec3& up,
                         std::span<const Opening> openings, const NeckOptions& options,
                         const RunContext& context) {
    if (!(options.width_mm > 0.0) || options.columns < 2 || options.columns > 2048) {
        throw InvalidInput(fmt::format(
            "Narrow necks cannot be looked for by a width of {:g} on {} columns; give a width "
            "above 0 and 2 to 2048 columns.",
            options.width_mm, options.columns));
    }
    const ColumnCut cut = cut_columns(mesh_mm, up, {.across = options.columns}, context);
    const std::size_t columns = static_cast<std::size_t>(cut.count_x) * cut.count_y;
    std::vector<Stretch> stretches;
    for (const std::vector<Stretch>& found :
         map_blocks<std::vector<Stretch>>(columns, 64, context, [&](const Block& block) {
             std::vector<Stretch> some;
             Cutter cutter(cut, surface, 0.5 * options.width_mm);
             for (std::size_t c = block.begin; c < block.end; ++c) {
                 cutter.column(static_cast<std::int32_t>(c), some);
             }
             return some;
         })) {
        stretches.insert(stretches.end(), found.begin(), found.end());
    }
    const Stacks stacks(cut, std::move(stretches));
    const TrappedStretches open = stacks.trapped(openings, cut.frame.z, false);
    const TrappedStretches closed = stacks.trapped(openings, cut.frame.z, true);
    NarrowNecks result;
    result.options = options;
    result.spacing_mm = cut.spacing_mm;
    std::vector<double> more(closed.peak.size(), 0.0);
    for (std::size_t i = 0; i < stacks.all().size(); ++i) {
        result.open_mm3 += open.air_mm3[i];
        result.closed_mm3 += closed.air_mm3[i];
        const Stretch& s = stacks.all()[i];
        if (stacks.has_no_seed(i)) {
            result.only_narrow_mm3 += cut.spacing_mm * cut.spacing_mm * (s.top - s.bottom);
        }
        if (closed.pocket[i] >= 0) {
            at(more, closed.pocket[i]) += closed.air_mm3[i] - open.air_mm3[i];
        }
    }
    constexpr double kWorthListing = 0.005;
    for (std::size_t a = 0; a < more.size(); ++a) {
        if (more[a] > 0.0 && more[a] >= kWorthListing * result.more_mm3()) {
            const std::int32_t i = closed.peak[a];
            result.held_back.push_back({stacks.place_mm(i, at(stacks.all(), i).top), more[a]});
        }
    }
    std::stable_sort(
        result.held_back.begin(), result.held_back.end(),
        [](const HeldBack& p, const HeldBack& q) { return p.volume_mm3 > q.volume_mm3; });
    return result;
}

}  // namespace cavigram
