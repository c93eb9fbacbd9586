// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <limits>

#include "cavigram/molding/levels_detail.h"

namespace cavigram::detail {

Levels::Levels(const ColumnCut& cut, bool one_piece)
    : count_x_(cut.count_x),
      count_y_(cut.count_y),
      spacing_mm_(cut.spacing_mm),
      floor_mm_(std::numeric_limits<double>::infinity()),
      one_piece_(one_piece) {
    first_.assign(1, 0);
    for (int y = 0; y < count_y_; ++y) {
        for (int x = 0; x < count_x_; ++x) {
            // As ColumnCut::inside, without a vector for each column.
            const std::size_t before = stretches_.size();
            for (const ColumnPiece& piece : cut.column(x, y)) {
                if (piece.winding <= 0) {
                    continue;
                }
                if (stretches_.size() == before || piece.from_mm > stretches_.back().to_mm) {
                    stretches_.push_back({piece.from_mm, piece.to_mm});
                } else {
                    stretches_.back().to_mm = piece.to_mm;
                }
            }
            if (stretches_.size() > before) {
                floor_mm_ = std::min(floor_mm_, stretches_[before].from_mm);
            }
            first_.push_back(stretches_.size());
        }
    }
    first_gap_.assign(1, 0);
    for (std::size_t c = 0; c + 1 < first_.size(); ++c) {
        const std::size_t count = first_[c + 1] - first_[c];
        const std::size_t between = count == 0 ? 0 : one_piece_ ? count : count - 1;
        first_gap_.push_back(first_gap_.back() + between);
    }
}

Cell Levels::cell(std::size_t column, double height_mm) const {
    const std::size_t begin = first_[column];
    const std::size_t end = first_[column + 1];
    if (begin == end) {
        return {};
    }
    for (std::size_t i = begin; i < end; ++i) {
        if (height_mm <= stretches_[i].to_mm) {
            if (height_mm >= stretches_[i].from_mm) {
                return {kSolid, -1};
            }
            if (i == begin && !one_piece_) {
                return {kBelow, -1};
            }
            const std::size_t nth = i - begin - (one_piece_ ? 0 : 1);
            return {kGap, static_cast<std::int32_t>(first_gap_[column] + nth)};
        }
    }
    return {kAbove, -1};
}

std::vector<Cell> Levels::section(double height_mm) const {
    std::vector<Cell> cells(static_cast<std::size_t>(wide()) * static_cast<std::size_t>(high()));
    const auto columns = static_cast<std::size_t>(count_x_);
    for (std::size_t c = 0; c + 1 < first_.size(); ++c) {
        const std::size_t x = c % columns + 1;
        const std::size_t y = c / columns + 1;
        cells[x + y * (columns + 2)] = cell(c, height_mm);
    }
    return cells;
}

namespace {

constexpr double kFar = 1e18;

// Lower envelope of the parabolas cost[q] + (p - q)^2: for each p the q of the least.
void nearest_along(const std::vector<double>& cost, std::vector<std::int32_t>& nearest) {
    const auto n = static_cast<std::int32_t>(cost.size());
    std::vector<std::int32_t> at;
    std::vector<double> from;
    for (std::int32_t q = 0; q < n; ++q) {
        const double value = cost[static_cast<std::size_t>(q)];
        if (value >= kFar) {
            continue;
        }
        double meets = -kFar;
        while (!at.empty()) {
            const std::int32_t p = at.back();
            meets = (value + static_cast<double>(q) * q - cost[static_cast<std::size_t>(p)] -
                     static_cast<double>(p) * p) /
                    (2.0 * (q - p));
            if (meets > from.back()) {
                break;
            }
            at.pop_back();
            from.pop_back();
        }
        from.push_back(at.empty() ? -kFar : meets);
        at.push_back(q);
    }
    nearest.assign(cost.size(), -1);
    std::size_t k = 0;
    for (std::int32_t p = 0; p < n && !at.empty(); ++p) {
        while (k + 1 < at.size() && from[k + 1] < p) {
            ++k;
        }
        nearest[static_cast<std::size_t>(p)] = at[k];
    }
}

}  // namespace

void leave_out_filled(const ColumnCut& cut, LockedSpace& space,
                      const std::vector<SmallTunnel>& filled, ReleaseStretch& stretch) {
    for (const SmallTunnel& tunnel : filled) {
        const Vec3 at = cut.frame.local(tunnel.at_mm);
        for (const LockedGap& gap : space.gaps) {
            if (gap.pocket < 0 || at.z() < gap.from_mm - cut.spacing_mm ||
                at.z() > gap.to_mm + cut.spacing_mm) {
                continue;
            }
            const Vec2 corner = cut.corner_mm + cut.spacing_mm * Vec2(gap.column % cut.count_x,
                                                                      gap.column / cut.count_x);
            const Vec2 away = at.head<2>() - corner - Vec2::Constant(0.5 * cut.spacing_mm);
            const auto p = static_cast<std::size_t>(gap.pocket);
            LockedPocket& pocket = space.pockets[p];
            const double most_mm3 =
                2.0 * tunnel.width_mm * tunnel.width_mm * pocket.extent_mm.diagonal().norm();
            if (away.cwiseAbs().maxCoeff() < 1.5 * cut.spacing_mm && pocket.volume_mm3 < most_mm3) {
                stretch.pockets[p] = {};
                pocket.lateral_mm = 0.0;
            }
        }
    }
    stretch.most = 0.0;
    for (const PocketStretch& pocket : stretch.pockets) {
        stretch.most = std::max(stretch.most, pocket.most());
    }
}

std::vector<std::int32_t> nearest_marked(const std::vector<bool>& marked, int count_x,
                                         int count_y) {
    const auto width = static_cast<std::size_t>(count_x);
    const auto height = static_cast<std::size_t>(count_y);
    std::vector<std::int32_t> in_column(marked.size(), -1);
    std::vector<double> cost(height);
    std::vector<std::int32_t> nearest;
    for (std::size_t x = 0; x < width; ++x) {
        for (std::size_t y = 0; y < height; ++y) {
            cost[y] = marked[x + y * width] ? 0.0 : kFar;
        }
        nearest_along(cost, nearest);
        for (std::size_t y = 0; y < height; ++y) {
            in_column[x + y * width] = nearest[y];
        }
    }
    cost.assign(width, 0.0);
    std::vector<std::int32_t> result(marked.size(), -1);
    for (std::size_t y = 0; y < height; ++y) {
        for (std::size_t x = 0; x < width; ++x) {
            const double away =
                static_cast<double>(in_column[x + y * width]) - static_cast<double>(y);
            cost[x] = in_column[x + y * width] < 0 ? kFar : away * away;
        }
        nearest_along(cost, nearest);
        for (std::size_t x = 0; x < width; ++x) {
            if (nearest[x] >= 0) {
                const auto column = static_cast<std::size_t>(nearest[x]);
                result[x + y * width] =
                    static_cast<std::int32_t>(column) +
                    in_column[column + y * width] * static_cast<std::int32_t>(width);
            }
        }
    }
    return result;
}

}  // namespace cavigram::detail
