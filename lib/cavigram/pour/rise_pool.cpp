// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_pool.h"

#include <algorithm>
#include <functional>
#include <queue>
#include <utility>

#include "cavigram/core/error.h"

namespace cavigram {

namespace {

// A film thicker than the place is wide leaves some room for the air.
constexpr double kMostFilm = 0.9;

struct Pieces {
    std::vector<std::int32_t> of_cell;
    std::vector<double> volume_mm3;
};

Pieces pieces_of(const RiseGrid& grid) {
    Pieces pieces;
    pieces.of_cell.assign(grid.size(), -1);
    for (std::size_t first = 0; first < grid.size(); ++first) {
        if (pieces.of_cell[first] >= 0) {
            continue;
        }
        const auto number = static_cast<std::int32_t>(pieces.volume_mm3.size());
        double volume = 0.0;
        std::vector<std::size_t> found{first};
        pieces.of_cell[first] = number;
        for (std::size_t i = 0; i < found.size(); ++i) {
            volume += grid.volume_mm3[found[i]];
            for (const std::int32_t n : grid.neighbor[found[i]]) {
                if (n >= 0 && pieces.of_cell[static_cast<std::size_t>(n)] < 0) {
                    pieces.of_cell[static_cast<std::size_t>(n)] = number;
                    found.push_back(static_cast<std::size_t>(n));
                }
            }
        }
        pieces.volume_mm3.push_back(volume);
    }
    return pieces;
}

// A film of even thickness: in each cell as much as its walls are long, which is 2/gap of its
// volume between plates.
double lay_film(const RiseGrid& grid, const Pieces& pieces, std::int32_t piece, double film_mm,
                double most_mm3, std::vector<double>& liquid) {
    double sum = 0.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (pieces.of_cell[c] == piece) {
            int walls = 0;
            for (const std::int32_t n : grid.neighbor[c]) {
                walls += n < 0 ? 1 : 0;
            }
            const double on_walls = grid.gap_mm[c] < 2.0 * grid.spacing_mm
                                        ? 2.0 * film_mm / grid.gap_mm[c]
                                        : walls * film_mm / grid.spacing_mm;
            liquid[c] = std::min(kMostFilm, on_walls) * grid.volume_mm3[c];
            sum += liquid[c];
        }
    }
    // No more film than there is liquid.
    const double scale = sum > most_mm3 ? most_mm3 / sum : 1.0;
    for (std::size_t c = 0; c < grid.size(); ++c) {
        if (pieces.of_cell[c] == piece) {
            liquid[c] *= scale;
        }
    }
    return std::min(sum, most_mm3);
}

// Fills up from a cell: always the lowest that touches what is full, ties by number.
void fill_up(const RiseGrid& grid, std::int32_t first, double room_mm3,
             std::vector<double>& liquid) {
    using Next = std::pair<std::int32_t, std::int32_t>;  // layer and cell
    std::priority_queue<Next, std::vector<Next>, std::greater<>> next;
    std::vector<std::uint8_t> seen(grid.size(), 0);
    next.emplace(grid.place[static_cast<std::size_t>(first)][2], first);
    seen[static_cast<std::size_t>(first)] = 1;
    while (!next.empty() && room_mm3 > 0.0) {
        // All that lies in one layer at once, so that its surface is level. Where it finds a way
        // down, what lies lower is filled first, and what stays on the sill is too thin to count.
        const std::int32_t layer = next.top().first;
        std::vector<std::int32_t> level;
        while (!next.empty() && next.top().first == layer) {
            const std::int32_t cell = next.top().second;
            next.pop();
            level.push_back(cell);
            for (const std::int32_t n : grid.neighbor[static_cast<std::size_t>(cell)]) {
                if (n >= 0 && seen[static_cast<std::size_t>(n)] == 0) {
                    seen[static_cast<std::size_t>(n)] = 1;
                    next.emplace(grid.place[static_cast<std::size_t>(n)][2], n);
                }
            }
        }
        if (!next.empty() && next.top().first < layer) {
            for (const std::int32_t cell : level) {
                next.emplace(layer, cell);
            }
            continue;
        }
        double room = 0.0;
        for (const std::int32_t cell : level) {
            const auto c = static_cast<std::size_t>(cell);
            room += grid.volume_mm3[c] - liquid[c];
        }
        const double share = room > room_mm3 ? room_mm3 / room : 1.0;
        for (const std::int32_t cell : level) {
            const auto c = static_cast<std::size_t>(cell);
            const double more = share * (grid.volume_mm3[c] - liquid[c]);
            liquid[c] += more;
            room_mm3 -= more;
        }
    }
}

}  // namespace

LiquidStart liquid_at_rest(const RiseGrid& grid, const CellFinder& finder, const PoolStart& start) {
    const double total = grid.total_mm3();
    if (!(start.liquid_mm3 > 0.0) || start.liquid_mm3 > total) {
        throw InvalidInput(
            "The liquid alone would fill the cavity, or there is none; check the "
            "part's size and the foam's density.");
    }
    const Pieces pieces = pieces_of(grid);
    LiquidStart result;
    result.liquid_mm3.assign(grid.size(), 0.0);
    result.piece.assign(grid.size(), -1);
    result.unreached.assign(grid.size(), 1);
    std::vector<std::int32_t> number(pieces.volume_mm3.size(), -1);
    const std::int32_t landing = start.landing_mm ? finder.nearest(*start.landing_mm) : -1;
    double shared = 0.0;
    for (const double volume : pieces.volume_mm3) {
        shared += volume >= kPieceShare * total ? volume : 0.0;
    }
    for (std::size_t p = 0; p < pieces.volume_mm3.size(); ++p) {
        const auto piece = static_cast<std::int32_t>(p);
        const double volume = pieces.volume_mm3[p];
        if (volume < kPieceShare * total) {
            result.unreached_mm3 += volume;
            continue;
        }
        double liquid = start.liquid_mm3 * volume / shared;
        number[p] = static_cast<std::int32_t>(result.piece_liquid_mm3.size());
        result.piece_liquid_mm3.push_back(liquid);
        if (start.film_mm > 0.0) {
            liquid -= lay_film(grid, pieces, piece, start.film_mm, liquid, result.liquid_mm3);
            result.film_mm3.resize(grid.size(), 0.0);
            for (std::size_t c = 0; c < grid.size(); ++c) {
                if (pieces.of_cell[c] == piece) {
                    result.film_mm3[c] = result.liquid_mm3[c];
                }
            }
        }
        // Cells run from the lowest layer up: the first of a piece is its lowest.
        const auto lowest = static_cast<std::int32_t>(
            std::find(pieces.of_cell.begin(), pieces.of_cell.end(), piece) -
            pieces.of_cell.begin());
        const bool here =
            landing >= 0 && pieces.of_cell[static_cast<std::size_t>(landing)] == piece;
        fill_up(grid, here ? landing : lowest, liquid, result.liquid_mm3);
    }
    for (std::size_t c = 0; c < grid.size(); ++c) {
        result.piece[c] = number[static_cast<std::size_t>(pieces.of_cell[c])];
        result.unreached[c] = result.piece[c] < 0 ? 1 : 0;
    }
    return result;
}

}  // namespace cavigram
