// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_still.h"

#include <algorithm>
#include <limits>
#include <numeric>
#include <utility>

namespace cavigram {

namespace {

// Pieces of air, joined as the level falls.
class AirPieces {
  public:
    explicit AirPieces(std::size_t cells) : parent_(cells), open_(cells, 0) {
        std::iota(parent_.begin(), parent_.end(), std::int32_t{0});
    }
    [[nodiscard]] std::size_t find(std::size_t c) {
        while (static_cast<std::size_t>(parent_[c]) != c) {
            parent_[c] = parent_[static_cast<std::size_t>(parent_[c])];
            c = static_cast<std::size_t>(parent_[c]);
        }
        return c;
    }
    void join(std::size_t a, std::size_t b) {
        a = find(a);
        b = find(b);
        parent_[std::max(a, b)] = static_cast<std::int32_t>(std::min(a, b));
        open_[std::min(a, b)] |= open_[std::max(a, b)];
    }
    void open(std::size_t c) { open_[c] = 1; }
    [[nodiscard]] bool is_open(std::size_t c) { return open_[find(c)] != 0; }

  private:
    std::vector<std::int32_t> parent_;
    std::vector<std::uint8_t> open_;
};

// Cells whose air is cut off before the level gets there. Cells run from the lowest layer up.
std::vector<std::uint8_t> cut_off_cells(const RiseGrid& grid,
                                        const std::vector<RiseOpening>& openings) {
    AirPieces pieces(grid.size());
    for (const RiseOpening& opening : openings) {
        pieces.open(static_cast<std::size_t>(opening.cell));
    }
    std::vector<std::uint8_t> stays(grid.size(), 0);
    std::size_t end = grid.size();
    while (end > 0) {
        std::size_t begin = end;
        const std::int32_t layer = grid.place[end - 1][2];
        while (begin > 0 && grid.place[begin - 1][2] == layer) {
            --begin;
        }
        for (std::size_t c = begin; c < end; ++c) {
            for (std::size_t side = 0; side < 6; ++side) {
                const std::int32_t n = grid.neighbor[c][side];
                if (n >= 0 && side != 4) {  // not yet with what lies below
                    pieces.join(c, static_cast<std::size_t>(n));
                }
            }
        }
        for (std::size_t c = begin; c < end; ++c) {
            stays[c] = pieces.is_open(c) ? 0 : 1;
        }
        end = begin;
    }
    return stays;
}

// Air that stays together, with the cells that hold it.
struct Kept {
    SealedAir air;
    std::vector<std::size_t> cells;
};

// Cut-off cells that are connected, those in `piece` -1 left out.
std::vector<Kept> kept_air(const RiseGrid& grid, const std::vector<std::uint8_t>& stays,
                           const std::vector<std::int32_t>& piece) {
    std::vector<std::uint8_t> seen(grid.size(), 0);
    std::vector<Kept> all;
    for (std::size_t first = 0; first < grid.size(); ++first) {
        if (stays[first] == 0 || seen[first] != 0 || piece[first] < 0) {
            continue;
        }
        Kept kept;
        kept.cells.push_back(first);
        seen[first] = 1;
        std::size_t top = first;
        for (std::size_t i = 0; i < kept.cells.size(); ++i) {
            const std::size_t c = kept.cells[i];
            kept.air.volume_mm3 += grid.volume_mm3[c];
            top = grid.place[c][2] > grid.place[top][2] ? c : top;
            for (const std::int32_t n : grid.neighbor[c]) {
                const auto next = static_cast<std::size_t>(n);
                if (n >= 0 && stays[next] != 0 && seen[next] == 0) {
                    seen[next] = 1;
                    kept.cells.push_back(next);
                }
            }
        }
        kept.air.at_mm = grid.center_mm(top);
        all.push_back(std::move(kept));
    }
    std::stable_sort(all.begin(), all.end(), [](const Kept& a, const Kept& b) {
        return a.air.volume_mm3 > b.air.volume_mm3;
    });
    return all;
}

}  // namespace

StillRise still_rise(const RiseGrid& grid, const std::vector<RiseOpening>& openings,
                     double smallest_air_mm3, const std::vector<std::int32_t>& piece) {
    const std::vector<std::int32_t> of_cell =
        piece.empty() ? std::vector<std::int32_t>(grid.size(), 0) : piece;
    const auto pieces =
        static_cast<std::size_t>(*std::max_element(of_cell.begin(), of_cell.end()) + 1);
    std::vector<std::uint8_t> stays = cut_off_cells(grid, openings);
    std::vector<Kept> kept = kept_air(grid, stays, of_cell);
    while (!kept.empty() && kept.back().air.volume_mm3 <= smallest_air_mm3) {
        for (const std::size_t c : kept.back().cells) {
            stays[c] = 0;
        }
        kept.pop_back();
    }
    // For each piece, what lies below each layer.
    const std::size_t layers = static_cast<std::size_t>(grid.count[2]) + 1;
    std::vector<std::vector<double>> below(pieces, std::vector<double>(layers, 0.0));
    const auto fills = [&](std::size_t c) { return stays[c] == 0 && of_cell[c] >= 0; };
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (fills(c)) {
            below[static_cast<std::size_t>(of_cell[c])]
                 [static_cast<std::size_t>(grid.place[c][2]) + 1] += grid.volume_mm3[c];
        }
    }
    StillRise rise;
    for (std::vector<double>& sums : below) {
        std::partial_sum(sums.begin(), sums.end(), sums.begin());
        rise.room_mm3.push_back(sums.back());
    }
    rise.arrival_mm3.assign(grid.size(), std::numeric_limits<double>::infinity());
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (fills(c)) {
            const std::vector<double>& sums = below[static_cast<std::size_t>(of_cell[c])];
            const auto k = static_cast<std::size_t>(grid.place[c][2]);
            rise.arrival_mm3[c] = 0.5 * (sums[k] + sums[k + 1]);
        }
    }
    for (const Kept& air : kept) {
        // Cells run from the lowest layer up: the first that was found is the lowest.
        const std::int32_t own = of_cell[air.cells.front()];
        rise.sealed.push_back(air.air);
        rise.sealed_piece.push_back(own);
        rise.sealed_at_mm3.push_back(below[static_cast<std::size_t>(own)][static_cast<std::size_t>(
            grid.place[air.cells.front()][2])]);
    }
    return rise;
}

}  // namespace cavigram
