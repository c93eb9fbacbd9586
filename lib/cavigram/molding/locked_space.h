// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/cavity/columns.h"
#include "cavigram/geom/vector.h"

namespace cavigram {

/// Where rubber that fills a locked space hangs together with the rest of the mold.
enum class OpensTo {
    above,    ///< Beside it, space that is free on the side the direction points to.
    below,    ///< Beside it, space that is free on the other side.
    both,     ///< Both: the parting line decides whose rubber it is.
    nowhere,  ///< Closed all around: no mold reaches it.
};

/// The word for it: `above`, `below`, `both`, `nowhere`.
[[nodiscard]] const char* to_text(OpensTo opens_to);

/// A stretch of a column outside the part, between two stretches inside it.
struct LockedGap {
    std::int32_t column = 0;   ///< x + y * count_x of the cut.
    std::int32_t pocket = -1;  ///< Index in LockedSpace::pockets; -1: in one that is not listed.
    double from_mm = 0.0;      ///< Height along the direction.
    double to_mm = 0.0;        ///< Above from_mm.
};

/// A connected piece of locked space.
struct LockedPocket {
    double volume_mm3 = 0.0;    ///< Of the columns' gaps.
    double low_mm = 0.0;        ///< Height of its lowest place along the direction.
    double high_mm = 0.0;       ///< Of its highest.
    double lateral_mm = 0.0;    ///< How far the rubber must move aside: from its innermost place
                                ///< across the direction to a column that is free there.
    double entry_mm = 0.0;      ///< Mean height of its border with free space.
    Vec3 at_mm = Vec3::Zero();  ///< Its innermost place.
    Box3 extent_mm;             ///< Around it, in the part's coordinates.
    OpensTo opens_to = OpensTo::both;  ///< Which half can own it.
    /// Its extent along the direction.
    [[nodiscard]] double depth_mm() const { return high_mm - low_mm; }
};

/// How locked space is looked for.
struct LockedSpaceOptions {
    /// The whole mold comes off along the direction, as a glove: what lies below the part is locked
    /// as well, down to its lowest place.
    bool one_piece = false;
    std::size_t most_pockets = 16;  ///< The largest are listed and measured.
    int levels = 9;                 ///< Heights at which each is measured; 1 or more.
};

/// Where rubber is caught when a mold is pulled apart along a direction.
struct LockedSpace {
    double volume_mm3 = 0.0;            ///< Of all of it, closed cavities apart.
    std::vector<LockedPocket> pockets;  ///< The largest first, closed cavities apart.
    std::size_t unlisted = 0;           ///< Smaller ones beyond these,
    double unlisted_mm3 = 0.0;          ///< and their volume.
    std::size_t closed = 0;             ///< Cavities closed all around,
    double closed_mm3 = 0.0;            ///< and their volume.
    std::vector<LockedGap> gaps;        ///< Column by column, from below to above.
    bool one_piece = false;             ///< As asked.
};

/// Finds the space that is locked between two halves that part along the columns: of each column
/// the gaps between its stretches inside the part. Neighboring gaps at a common height are one
/// pocket.
///
/// The same for a direction and its opposite, but for one_piece. A gap narrower than a column is
/// not seen: volumes err by about the border's area times spacing / 10.
///
/// O(columns + gaps + pockets * levels * columns)
///
/// \throw InvalidInput for levels below 1
[[nodiscard]] LockedSpace locked_space(const ColumnCut& cut,
                                       const LockedSpaceOptions& options = {});

/// The volume alone, closed cavities included. O(pieces)
[[nodiscard]] double gap_volume_mm3(const ColumnCut& cut);

}  // namespace cavigram
