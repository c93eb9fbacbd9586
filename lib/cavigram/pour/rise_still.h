// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/pour/rise_grid.h"
#include "cavigram/pour/rise_viscous.h"

namespace cavigram {

/// The rise of a foam so thin that it stands level: what has been filled when each cell is reached.
struct StillRise {
    /// Foam in its piece of the cavity when the level reaches the middle of each cell, in mm3;
    /// infinity for cells whose air stays.
    std::vector<double> arrival_mm3;
    std::vector<SealedAir> sealed;      ///< Air that stays, largest first; expansion is not set.
    std::vector<double> sealed_at_mm3;  ///< Foam in its piece when each was cut off,
    std::vector<std::int32_t> sealed_piece;  ///< and that piece.
    std::vector<double> room_mm3;            ///< All that fills, of each piece.
};

/// A level that rises through each piece of the cavity: layer by layer of the grid.
///
/// Air above the level is cut off once what it is connected with holds no opening any more: found
/// from the top down, joined as the level falls. The same answer as the air tree's
/// (venting/pockets), from cells instead of the surface. Less air than `smallest_air_mm3` is
/// filled. `piece` as LiquidStart::piece; empty: all is one.
///
/// O(n).
[[nodiscard]] StillRise still_rise(const RiseGrid& grid, const std::vector<RiseOpening>& openings,
                                   double smallest_air_mm3,
                                   const std::vector<std::int32_t>& piece = {});

}  // namespace cavigram
