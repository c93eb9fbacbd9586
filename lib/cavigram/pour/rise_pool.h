// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "cavigram/pour/rise_grid.h"

namespace cavigram {

/// How the liquid lies before it rises.
struct PoolStart {
    double liquid_mm3 = 0.0;         ///< Poured into this cavity.
    std::optional<Vec3> landing_mm;  ///< Where it comes down; none: the lowest place.
    double film_mm = 0.0;            ///< Left on all walls by turning the mold; 0: none.

    /// Field by field.
    friend bool operator==(const PoolStart&, const PoolStart&) = default;
};

/// Liquid in each cell of a grid.
struct LiquidStart {
    std::vector<double> liquid_mm3;   ///< Of each cell, at most its volume.
    std::vector<double> film_mm3;     ///< Of it, what sticks to the walls; empty: none.
    std::vector<std::int32_t> piece;  ///< Of each cell; -1: nothing connects it with any liquid.
    std::vector<double> piece_liquid_mm3;  ///< Of each piece.
    std::vector<std::uint8_t> unreached;   ///< Cells of no piece.
    double unreached_mm3 = 0.0;            ///< Their volume.
};

/// Pieces of a grid with less than this share of it are arms that the cells cut off, not solids of
/// their own.
inline constexpr double kPieceShare = 0.02;

/// The liquid at rest: a film on the walls, if there is one, and the rest in the basin that it
/// comes down in and, over the lowest sills, in those beyond, always the lowest cell that touches
/// the pool next. A grid in several pieces gets liquid in each by its volume, as several solids do.
///
/// O(n log n).
///
/// \throw InvalidInput if there is more liquid than room
[[nodiscard]] LiquidStart liquid_at_rest(const RiseGrid& grid, const CellFinder& finder,
                                         const PoolStart& start);

}  // namespace cavigram
