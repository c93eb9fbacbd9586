// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/release_stretch.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include "cavigram/geom/convex_hull.h"
#include "cavigram/molding/levels_detail.h"

namespace cavigram {

namespace {

using detail::Cell;
using detail::Levels;

// Rays through a section go by this many columns a step.
constexpr double kStep = 0.25;
// So many places of a pocket are asked in each section.
constexpr std::size_t kMostRays = 64;
// What is narrower, in columns, is not told from a corner.
constexpr double kLeastMouth = 2.0;

// One section through one pocket.
class Section {
  public:
    Section(const Levels& levels, const LockedSpace& space, std::int32_t pocket, double height_mm)
        : levels_(levels), cells_(levels.section(height_mm)) {
        const OpensTo opens = space.pockets[static_cast<std::size_t>(pocket)].opens_to;
        wanted_ = opens == OpensTo::above   ? detail::kAbove
                  : opens == OpensTo::below ? detail::kBelow
                                            : detail::kFree;
        for (std::size_t c = 0; c < cells_.size(); ++c) {
            if (cells_[c].gap >= 0 &&
                space.gaps[static_cast<std::size_t>(cells_[c].gap)].pocket == pocket) {
                mine_.push_back(c);
            }
        }
    }

    [[nodiscard]] bool empty() const { return mine_.empty(); }

    // Whether two pieces of free space that are apart in this section border on the pocket.
    [[nodiscard]] bool bridge() const {
        std::vector<std::int32_t> piece(cells_.size(), -1);
        // What lies around the outermost row is one piece, and that row all free.
        std::vector<std::size_t> borders(1, 0);
        std::vector<std::size_t> stack;
        for (std::size_t c = 0; c < cells_.size(); ++c) {
            if (on_rim(c)) {
                piece[c] = 0;
                stack.push_back(c);
            }
        }
        const auto fill = [&](std::int32_t number) {
            while (!stack.empty()) {
                const std::size_t c = stack.back();
                stack.pop_back();
                for (const std::size_t n : beside(c)) {
                    if (piece[n] < 0 && is_free(n)) {
                        piece[n] = number;
                        stack.push_back(n);
                    }
                }
            }
        };
        fill(0);
        for (const std::size_t c : mine_) {
            for (const std::size_t n : beside(c)) {
                if (!is_free(n)) {
                    continue;
                }
                if (piece[n] < 0) {
                    const auto number = static_cast<std::int32_t>(borders.size());
                    borders.push_back(0);
                    piece[n] = number;
                    stack.push_back(n);
                    fill(number);
                }
                ++borders[static_cast<std::size_t>(piece[n])];
            }
        }
        return std::count_if(borders.begin(), borders.end(),
                             [](std::size_t b) { return b >= 3; }) >= 2;
    }

    // The string around the part's pieces that the pocket touches, with it and without.
    [[nodiscard]] double ring() const {
        std::vector<bool> seen(cells_.size());
        std::vector<std::size_t> stack;
        const auto push_solid = [&](std::size_t c) {
            if (cells_[c].kind == detail::kSolid && !seen[c]) {
                seen[c] = true;
                stack.push_back(c);
            }
        };
        // The outermost row is free, so that neighbors are always there.
        const auto wide = static_cast<std::size_t>(levels_.wide());
        const auto push_neighbors = [&](std::size_t c) {
            for (const std::size_t n : {c - 1, c + 1, c - wide, c + wide}) {
                push_solid(n);
            }
        };
        for (const std::size_t c : mine_) {
            push_neighbors(c);
        }
        std::vector<Vec2> points;
        while (!stack.empty()) {
            const std::size_t c = stack.back();
            stack.pop_back();
            points.push_back(at(c));
            push_neighbors(c);
        }
        if (points.empty()) {
            return 0.0;
        }
        const std::vector<Vec2> part = convex_hull(std::move(points));
        std::vector<Vec2> both = part;
        for (const std::size_t c : mine_) {
            both.push_back(at(c));
        }
        // Half a column all around, which the middles leave out.
        const double rim = std::acos(-1.0);
        const double around = hull_perimeter(part) + rim;
        return (hull_perimeter(std::move(both)) + rim) / around - 1.0;
    }

    // Median over the pocket's places; a mouth narrower than `least_mouth_mm` is told apart.
    [[nodiscard]] PocketStretch plug(double least_mouth_mm) const {
        std::vector<bool> free(cells_.size());
        for (std::size_t c = 0; c < cells_.size(); ++c) {
            free[c] = is_free(c);
        }
        const auto nearest = detail::nearest_marked(free, levels_.wide(), levels_.high());
        std::vector<PocketStretch> found;
        const std::size_t stride = std::max<std::size_t>(1, mine_.size() / kMostRays);
        std::size_t asked = 0;
        for (std::size_t i = 0; i < mine_.size(); i += stride) {
            ++asked;
            const Vec2 from = at(mine_[i]);
            const Vec2 way = at(static_cast<std::size_t>(nearest[mine_[i]])) - from;
            const PocketStretch through = through_mouth(from, way.normalized());
            if (through.mouth_mm > 0.0) {
                found.push_back(through);
            }
        }
        // A mouth between two walls, not a wall somewhere beyond for a few of the places.
        if (2 * found.size() <= asked) {
            return {};
        }
        const auto middle = found.begin() + static_cast<std::ptrdiff_t>(found.size() / 2);
        std::nth_element(
            found.begin(), middle, found.end(),
            [](const PocketStretch& a, const PocketStretch& b) { return a.plug < b.plug; });
        const double least = std::max(least_mouth_mm, kLeastMouth * levels_.spacing_mm());
        if (middle->mouth_mm < least) {
            PocketStretch narrow;
            narrow.narrow_mm = middle->mouth_mm;
            return narrow;
        }
        return *middle;
    }

  private:
    // In columns.
    [[nodiscard]] Vec2 at(std::size_t c) const {
        const auto wide = static_cast<std::size_t>(levels_.wide());
        const std::size_t row = c / wide;
        return {static_cast<double>(c % wide), static_cast<double>(row)};
    }
    [[nodiscard]] bool is_free(std::size_t c) const {
        return cells_[c].kind != detail::kGap && (cells_[c].kind & wanted_) != 0;
    }
    [[nodiscard]] bool on_rim(std::size_t c) const {
        const auto wide = static_cast<std::size_t>(levels_.wide());
        return c % wide == 0 || c % wide + 1 == wide || c < wide || c + wide >= cells_.size();
    }
    // The neighbors of a cell that there are; on the rim some are itself.
    [[nodiscard]] std::array<std::size_t, 4> beside(std::size_t c) const {
        const auto wide = static_cast<std::size_t>(levels_.wide());
        return {c % wide == 0 ? c : c - 1, c % wide + 1 == wide ? c : c + 1,
                c < wide ? c : c - wide, c + wide >= cells_.size() ? c : c + wide};
    }
    // The cell at a point; none beyond the grid.
    [[nodiscard]] std::int64_t cell_at(const Vec2& p) const {
        const auto x = static_cast<std::int64_t>(std::lround(p.x()));
        const auto y = static_cast<std::int64_t>(std::lround(p.y()));
        const bool within = x >= 0 && y >= 0 && x < levels_.wide() && y < levels_.high();
        return within ? x + y * levels_.wide() : -1;
    }

    // From a place of the pocket along a line: the rubber between the walls, and the free run in
    // it.
    [[nodiscard]] PocketStretch through_mouth(const Vec2& from, const Vec2& way) const {
        double before = 0.0;
        for (Vec2 p = from - kStep * way;; p -= kStep * way) {
            const std::int64_t c = cell_at(p);
            if (c < 0 || cells_[static_cast<std::size_t>(c)].kind != detail::kGap) {
                break;
            }
            before += kStep;
        }
        double mouth = 0.0;
        double locked = before;
        for (Vec2 p = from;; p += kStep * way) {
            const std::int64_t c = cell_at(p);
            if (c < 0) {
                return {};  // no wall on the other side
            }
            const auto i = static_cast<std::size_t>(c);
            if (is_free(i)) {
                mouth += kStep;
            } else if (cells_[i].kind == detail::kGap) {
                locked += kStep;
            } else {
                break;
            }
        }
        if (mouth < 1.0) {
            return {};  // a corner was cut
        }
        const double h = levels_.spacing_mm();
        return {0.0, locked / mouth, h * mouth, h * (mouth + locked), false, 0.0};
    }

    const Levels& levels_;
    std::vector<Cell> cells_;
    std::vector<std::size_t> mine_;
    unsigned wanted_ = detail::kFree;
};

}  // namespace

ReleaseStretch release_stretch(const ColumnCut& cut, const LockedSpace& space,
                               const ReleaseStretchOptions& options) {
    const Levels levels(cut, space.one_piece);
    ReleaseStretch result;
    for (std::size_t i = 0; i < space.pockets.size(); ++i) {
        const LockedPocket& pocket = space.pockets[i];
        PocketStretch& stretch = result.pockets.emplace_back();
        if (pocket.lateral_mm <= options.least_columns * cut.spacing_mm ||
            pocket.volume_mm3 < options.least_mm3) {
            continue;
        }
        for (int k = 0; k < options.levels; ++k) {
            const Section section(levels, space, static_cast<std::int32_t>(i),
                                  pocket.low_mm + pocket.depth_mm() * (k + 0.5) / options.levels);
            if (section.empty()) {
                continue;
            }
            stretch.bridge = stretch.bridge || section.bridge();
            stretch.ring = std::max(stretch.ring, section.ring());
            const PocketStretch plug = section.plug(options.least_mouth_mm);
            if (plug.narrow_mm > 0.0 &&
                (stretch.narrow_mm == 0.0 || plug.narrow_mm < stretch.narrow_mm)) {
                stretch.narrow_mm = plug.narrow_mm;
            }
            if (plug.plug > stretch.plug) {
                stretch.plug = plug.plug;
                stretch.mouth_mm = plug.mouth_mm;
                stretch.behind_mm = plug.behind_mm;
            }
        }
        result.most = std::max(result.most, stretch.most());
    }
    return result;
}

StretchRange tongue_stretch(double rubber_mm, double aside_mm, double free_mm) {
    const double slender = 1.5 * rubber_mm * aside_mm / (free_mm * free_mm);
    return {0.8 * slender, 1.8 * slender};
}

}  // namespace cavigram
