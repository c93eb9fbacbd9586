// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/pour/rise_grid.h"

namespace cavigram::detail {

/// The cells that one can get to from a first one by faces, of those that `among` says yes to.
template <class Among>
std::vector<std::int32_t> piece_from(const RiseGrid& grid, std::int32_t first,
                                     std::vector<std::uint8_t>& seen, const Among& among) {
    std::vector<std::int32_t> piece{first};
    seen[static_cast<std::size_t>(first)] = 1;
    for (std::size_t i = 0; i < piece.size(); ++i) {
        for (const std::int32_t n : grid.neighbor[static_cast<std::size_t>(piece[i])]) {
            if (n >= 0 && seen[static_cast<std::size_t>(n)] == 0 && among(n)) {
                seen[static_cast<std::size_t>(n)] = 1;
                piece.push_back(n);
            }
        }
    }
    return piece;
}

/// The cells within so many steps of `cell` by faces, itself first.
inline void cells_around(const RiseGrid& grid, std::size_t cell, int steps,
                         std::vector<std::size_t>& around) {
    around.assign(1, cell);
    std::size_t begin = 0;
    for (int step = 0; step < steps; ++step) {
        for (const std::size_t end = around.size(); begin < end; ++begin) {
            for (const std::int32_t n : grid.neighbor[around[begin]]) {
                const auto next = static_cast<std::size_t>(n);
                if (n >= 0 && std::find(around.begin(), around.end(), next) == around.end()) {
                    around.push_back(next);
                }
            }
        }
    }
}

/// The cells from which air gets to an opening, through a layer of foam that is no thicker than
/// half the gap there: it blows through that.
inline std::vector<std::int32_t> cells_near(const RiseGrid& grid, std::int32_t opening) {
    constexpr double kLeastCells = 1.0;
    const double reach = std::max(
        kLeastCells, 0.5 * grid.gap_mm[static_cast<std::size_t>(opening)] / grid.spacing_mm);
    const CellPlace& home = grid.place[static_cast<std::size_t>(opening)];
    std::vector<std::uint8_t> seen(grid.size(), 0);
    return piece_from(grid, opening, seen, [&](std::int32_t cell) {
        const CellPlace& p = grid.place[static_cast<std::size_t>(cell)];
        return std::hypot(p[0] - home[0], p[1] - home[1], p[2] - home[2]) <= reach;
    });
}

}  // namespace cavigram::detail
