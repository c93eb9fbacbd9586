// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/locked_space.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "cavigram/core/error.h"
#include "cavigram/mesh/union_find.h"
#include "cavigram/molding/levels_detail.h"

namespace cavigram {

namespace {

using detail::Cell;
using detail::Levels;

// A border of locked space with free space.
struct Border {
    double above_mm = 0.0;  // summed height of what is free above, times one column each
    double below_mm = 0.0;
    double total_mm = 0.0;  // free to either side counts once
    std::size_t columns = 0;
};

double overlap(double from, double to, double low, double high) {
    return std::max(0.0, std::min(to, high) - std::max(from, low));
}

class Finder {
  public:
    Finder(const ColumnCut& cut, const LockedSpaceOptions& options)
        : cut_(cut), options_(options), levels_(cut, options.one_piece) {
        space_.one_piece = options.one_piece;
    }

    LockedSpace run() {
        list_gaps();
        join_neighbors();
        make_pockets();
        for (std::size_t i = 0; i < space_.pockets.size(); ++i) {
            measure(static_cast<std::int32_t>(i));
        }
        return std::move(space_);
    }

  private:
    void list_gaps() {
        const auto& first = levels_.first();
        const auto& stretches = levels_.stretches();
        for (std::size_t c = 0; c + 1 < first.size(); ++c) {
            for (std::size_t i = first[c]; i < first[c + 1]; ++i) {
                if (i > first[c] || options_.one_piece) {
                    const double from = i > first[c] ? stretches[i - 1].to_mm : levels_.floor_mm();
                    space_.gaps.push_back(
                        {static_cast<std::int32_t>(c), -1, from, stretches[i].from_mm});
                }
            }
        }
        joined_ = UnionFind(space_.gaps.size());
        borders_.resize(space_.gaps.size());
    }

    void join_neighbors() {
        for (int y = 0; y < levels_.count_y(); ++y) {
            for (int x = 0; x < levels_.count_x(); ++x) {
                for (const auto& [dx, dy] : {std::pair(1, 0), {0, 1}, {-1, 0}, {0, -1}}) {
                    meet(x, y, x + dx, y + dy, dx + dy > 0);
                }
            }
        }
    }

    // What the gaps of one column have beside them in another.
    void meet(int x, int y, int beside_x, int beside_y, bool join) {
        const auto width = static_cast<std::size_t>(levels_.count_x());
        const std::size_t c = static_cast<std::size_t>(x) + static_cast<std::size_t>(y) * width;
        const auto& gaps = levels_.first_gap();
        if (gaps[c] == gaps[c + 1]) {
            return;
        }
        const bool outside = beside_x < 0 || beside_y < 0 || beside_x >= levels_.count_x() ||
                             beside_y >= levels_.count_y();
        const std::size_t n = outside ? 0
                                      : static_cast<std::size_t>(beside_x) +
                                            static_cast<std::size_t>(beside_y) * width;
        const auto& first = levels_.first();
        const bool empty = outside || first[n] == first[n + 1];
        for (std::size_t g = gaps[c]; g < gaps[c + 1]; ++g) {
            const LockedGap& gap = space_.gaps[g];
            Border& border = borders_[g];
            const double height = gap.to_mm - gap.from_mm;
            double above = height;
            double below = height;
            double total = height;
            if (!empty) {
                const double lowest = levels_.stretches()[first[n]].from_mm;
                const double highest = levels_.stretches()[first[n + 1] - 1].to_mm;
                above = overlap(gap.from_mm, gap.to_mm, highest, gap.to_mm);
                below =
                    options_.one_piece ? 0.0 : overlap(gap.from_mm, gap.to_mm, gap.from_mm, lowest);
                total = above + below;
                for (std::size_t other = gaps[n]; join && other < gaps[n + 1]; ++other) {
                    if (overlap(gap.from_mm, gap.to_mm, space_.gaps[other].from_mm,
                                space_.gaps[other].to_mm) > 0.0) {
                        joined_.join(static_cast<std::int32_t>(g),
                                     static_cast<std::int32_t>(other));
                    }
                }
            } else if (options_.one_piece) {
                below = 0.0;
            }
            border.above_mm += above;
            border.below_mm += below;
            border.total_mm += total;
            border.columns += total > 0.0 ? 1 : 0;
        }
    }

    void make_pockets() {
        const double cell_mm2 = levels_.spacing_mm() * levels_.spacing_mm();
        const std::vector<std::int32_t> of_gap = joined_.numbered();
        const std::size_t count =
            of_gap.empty()
                ? 0
                : static_cast<std::size_t>(*std::max_element(of_gap.begin(), of_gap.end())) + 1;
        std::vector<double> volumes(count);
        std::vector<Border> borders(count);
        for (std::size_t g = 0; g < of_gap.size(); ++g) {
            const auto p = static_cast<std::size_t>(of_gap[g]);
            volumes[p] += (space_.gaps[g].to_mm - space_.gaps[g].from_mm) * cell_mm2;
            borders[p].above_mm += borders_[g].above_mm;
            borders[p].below_mm += borders_[g].below_mm;
            borders[p].total_mm += borders_[g].total_mm;
            borders[p].columns += borders_[g].columns;
        }
        std::vector<std::size_t> order(count);
        std::iota(order.begin(), order.end(), std::size_t{0});
        std::stable_sort(order.begin(), order.end(),
                         [&](std::size_t a, std::size_t b) { return volumes[a] > volumes[b]; });
        std::vector<std::int32_t> place(count, -1);
        for (const std::size_t p : order) {
            const Border& border = borders[p];
            if (border.columns == 0) {
                ++space_.closed;
                space_.closed_mm3 += volumes[p];
                continue;
            }
            space_.volume_mm3 += volumes[p];
            if (space_.pockets.size() == options_.most_pockets) {
                ++space_.unlisted;
                space_.unlisted_mm3 += volumes[p];
                continue;
            }
            place[p] = static_cast<std::int32_t>(space_.pockets.size());
            LockedPocket pocket;
            pocket.volume_mm3 = volumes[p];
            pocket.entry_mm = border.total_mm / static_cast<double>(border.columns);
            // A tenth of the other kind is a notch in the border, no choice of halves.
            pocket.opens_to = border.below_mm < 0.1 * border.above_mm   ? OpensTo::above
                              : border.above_mm < 0.1 * border.below_mm ? OpensTo::below
                                                                        : OpensTo::both;
            pocket.low_mm = std::numeric_limits<double>::infinity();
            pocket.high_mm = -pocket.low_mm;
            space_.pockets.push_back(pocket);
        }
        for (std::size_t g = 0; g < of_gap.size(); ++g) {
            LockedGap& gap = space_.gaps[g];
            gap.pocket = place[static_cast<std::size_t>(of_gap[g])];
            if (gap.pocket >= 0) {
                LockedPocket& pocket = space_.pockets[static_cast<std::size_t>(gap.pocket)];
                pocket.low_mm = std::min(pocket.low_mm, gap.from_mm);
                pocket.high_mm = std::max(pocket.high_mm, gap.to_mm);
                pocket.extent_mm.extend(
                    place_of(static_cast<std::size_t>(gap.column), gap.from_mm));
                pocket.extent_mm.extend(place_of(static_cast<std::size_t>(gap.column), gap.to_mm));
            }
        }
    }

    [[nodiscard]] Vec3 place_of(std::size_t column, double height_mm) const {
        const int x = static_cast<int>(column) % levels_.count_x();
        const int y = static_cast<int>(column) / levels_.count_x();
        return cut_.place_mm(x, y, height_mm);
    }

    // The innermost place of a pocket over its levels.
    void measure(std::int32_t index) {
        LockedPocket& pocket = space_.pockets[static_cast<std::size_t>(index)];
        const unsigned wanted = pocket.opens_to == OpensTo::above   ? detail::kAbove
                                : pocket.opens_to == OpensTo::below ? detail::kBelow
                                                                    : detail::kFree;
        double most = -1.0;
        for (int k = 0; k < options_.levels; ++k) {
            const double height = pocket.low_mm + pocket.depth_mm() * (k + 0.5) / options_.levels;
            const std::vector<Cell> cells = levels_.section(height);
            std::vector<bool> free(cells.size());
            for (std::size_t c = 0; c < cells.size(); ++c) {
                free[c] = cells[c].kind != detail::kGap && (cells[c].kind & wanted) != 0;
            }
            const auto nearest = detail::nearest_marked(free, levels_.wide(), levels_.high());
            for (std::size_t c = 0; c < cells.size(); ++c) {
                if (cells[c].gap < 0 ||
                    space_.gaps[static_cast<std::size_t>(cells[c].gap)].pocket != index) {
                    continue;
                }
                const double away = distance(c, static_cast<std::size_t>(nearest[c]));
                if (away > most) {
                    most = away;
                    const int wide = levels_.wide();
                    pocket.at_mm = cut_.place_mm(static_cast<int>(c) % wide - 1,
                                                 static_cast<int>(c) / wide - 1, height);
                }
            }
        }
        pocket.lateral_mm = std::max(0.0, most);
    }

    [[nodiscard]] double distance(std::size_t a, std::size_t b) const {
        const auto width = static_cast<std::size_t>(levels_.wide());
        const std::size_t row_a = a / width;
        const std::size_t row_b = b / width;
        return levels_.spacing_mm() *
               std::hypot(static_cast<double>(a % width) - static_cast<double>(b % width),
                          static_cast<double>(row_a) - static_cast<double>(row_b));
    }

    const ColumnCut& cut_;
    const LockedSpaceOptions& options_;
    Levels levels_;
    LockedSpace space_;
    UnionFind joined_;
    std::vector<Border> borders_;
};

}  // namespace

const char* to_text(OpensTo opens_to) {
    switch (opens_to) {
        case OpensTo::above:
            return "above";
        case OpensTo::below:
            return "below";
        case OpensTo::both:
            return "both";
        case OpensTo::nowhere:
            return "nowhere";
    }
    return "";
}

LockedSpace locked_space(const ColumnCut& cut, const LockedSpaceOptions& options) {
    if (options.levels < 1) {
        throw InvalidInput("Locked space is measured at one level or more.");
    }
    return Finder(cut, options).run();
}

double gap_volume_mm3(const ColumnCut& cut) {
    double sum = 0.0;
    for (std::size_t c = 0; c + 1 < cut.first.size(); ++c) {
        bool any = false;
        double top = 0.0;
        for (std::size_t i = cut.first[c]; i < cut.first[c + 1]; ++i) {
            const ColumnPiece& piece = cut.pieces[i];
            if (piece.winding <= 0) {
                continue;
            }
            sum += any ? std::max(0.0, piece.from_mm - top) : 0.0;
            top = any ? std::max(top, piece.to_mm) : piece.to_mm;
            any = true;
        }
    }
    return sum * cut.spacing_mm * cut.spacing_mm;
}

}  // namespace cavigram
