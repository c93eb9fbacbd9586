// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cavigram/molding/rubber.h"

namespace cavigram {

/// Boards for a mold box where nothing is asked for: plywood or coated chipboard of 12 mm. Common
/// practice, no source.
inline constexpr double kBoard_mm = 12.0;
/// The box stands so far above the rubber, which would run over otherwise. Common practice, no
/// source.
inline constexpr double kRim_mm = 10.0;

/// What the box is built around. The part lies in it as it is pulled: its height along the pull.
struct MoldBoxRequest {
    double part_length_mm = 0.0;   ///< Longer side of the smallest rectangle around it from above.
    double part_width_mm = 0.0;    ///< The other side.
    double part_height_mm = 0.0;   ///< Along the pull.
    double wall_mm = kRubber_mm;   ///< Rubber between the part and each wall.
    double floor_mm = kRubber_mm;  ///< Rubber below it.
    double cover_mm = kRubber_mm;  ///< Rubber above it.
    double board_mm = kBoard_mm;   ///< Of the box's boards.
    std::optional<double> parting_mm = {};  ///< Above the part's lowest place; none: its middle.
};

/// Pieces of board of one size.
struct Board {
    double length_mm = 0.0;  ///< Longer side.
    double width_mm = 0.0;   ///< Shorter side.
    int count = 0;           ///< How many.
    std::string use;         ///< In words.
};

/// A box for a poured block of rubber in two halves.
struct MoldBox {
    MoldBoxRequest request;        ///< What it was computed for.
    double block_length_mm = 0.0;  ///< Of the rubber: inner size of the box.
    double block_width_mm = 0.0;   ///< Of the rubber.
    double block_height_mm = 0.0;  ///< Of the rubber, both halves.
    double block_mm3 = 0.0;        ///< Rubber and part.
    double lower_half_mm = 0.0;    ///< Height of the half below the parting.
    double upper_half_mm = 0.0;    ///< Height of the other.
    std::vector<Board> boards;     ///< To cut: two long walls, two short ones, floor, two plates.
};

/// Sizes of the box: the part's extents, rubber around, boards around that. The long walls lie
/// outside the short ones and all stand on the floor; two plates as large as the block keep the
/// straps from biting into the rubber.
///
/// O(1).
///
/// \pre all sizes above 0
///
/// \throw InvalidInput for a parting that does not lie within the part's height
[[nodiscard]] MoldBox mold_box(const MoldBoxRequest& request);

}  // namespace cavigram
