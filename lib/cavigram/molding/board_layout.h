// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/molding/mold_box.h"

namespace cavigram {

/// A sheet or board as it is bought.
struct Stock {
    double length_mm = 1200.0;  ///< A small sheet; a guess.
    double width_mm = 600.0;    ///< A small sheet; a guess.
    double saw_mm = 3.0;        ///< What each cut takes. Common practice, no source.
};

/// Where one piece is cut from.
struct PlacedBoard {
    std::size_t board = 0;   ///< Its row of the cut list.
    std::size_t sheet = 0;   ///< Which sheet, from 0.
    double x_mm = 0.0;       ///< Of its lower left corner, along the sheet's length.
    double y_mm = 0.0;       ///< Of that corner, across.
    double along_mm = 0.0;   ///< Its side along the sheet's length.
    double across_mm = 0.0;  ///< Its other side.
};

/// A cut list laid out on sheets.
struct BoardLayout {
    Stock stock;                      ///< What it is cut from.
    std::size_t sheets = 0;           ///< How many it takes.
    std::vector<PlacedBoard> placed;  ///< In the order in which they are cut.
    double used_share = 0.0;          ///< Of the sheets' area.
    std::vector<Finding> findings;    ///< board_larger_than_stock.
};

/// Lays the pieces out so that a circular saw can cut them: strips through the whole length of a
/// sheet, then pieces off the strips.
///
/// The widest pieces first, each into the first strip with room, their longer side along the sheet
/// where that fits: strips waste what their narrower pieces leave, so it is not the least number of
/// sheets, but close for a few pieces. (Shelves by first fit: Coffman, Garey, Johnson & Tarjan,
/// SIAM J. Comput. 9 (1980) 808.) A piece that fits no sheet is left out and told:
/// `board_larger_than_stock`. O(pieces squared). Deterministic.
///
/// \pre all sizes above 0, saw >= 0
[[nodiscard]] BoardLayout board_layout(const std::vector<Board>& boards, const Stock& stock = {});

}  // namespace cavigram
