// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string>

#include "cavigram/geom/vector.h"
#include "cavigram/measure/mass_properties.h"

namespace cavigram {

/// What places on a part are told by: its box, the ends of its long axis, and which side is up.
struct PlaceFrame {
    Box3 bounds_mm;                   ///< The part's box.
    int long_axis = 0;                ///< 0, 1, 2 for x, y, z.
    std::optional<int> up_axis = {};  ///< Its sides are called top and bottom. None: not known.
    bool up_is_plus = true;           ///< The top is the side of the larger coordinate.
};

/// The frame of a part. The long axis is the longest side of its box, as a ruler would have it;
/// sides within 5 % of the longest count as equally long, and of those the one next to the axis of
/// the largest extent by moments is taken. `up`, if given, names top and bottom where it lies
/// within 10 degrees of an axis.
[[nodiscard]] PlaceFrame place_frame(const MassProperties& mass,
                                     const std::optional<Vec3>& up = std::nullopt);

/// A place the way a person with a ruler finds it.
struct PlaceWords {
    std::string words;         ///< Lengths told (core/told.h).
    std::string end;           ///< The end that is measured from: `-x`, `+x` ... `+z`.
    double from_end_mm = 0.0;  ///< Along the long axis; to the nearest point of a region.
    double to_end_mm = 0.0;    ///< To the farthest point of a region; the same for a point.
};

/// A point: "112 mm from the -x end, 24 mm from the +y side, on the top". Measured from the nearer
/// end or side of the part's box; within 2 % of the box's side it is "at" the end or "on" the side.
[[nodiscard]] PlaceWords place_words(const PlaceFrame& frame, const Vec3& at_mm);

/// A region by the box around it: "at the +x end, last 14 mm", "all along, on the -y side", "from
/// 20 to 45 mm from the -x end". It is at an end when it comes within 5 % of the length to it and
/// reaches no farther than half the length; a side is named where the region lies wholly on one
/// half.
[[nodiscard]] PlaceWords place_words(const PlaceFrame& frame, const Box3& extent_mm);

/// Both of two regions in one phrase where one is the mirror image of the other across the middle
/// of the part's box: "both ends, last 14 mm", "both sides, -y and +y, from 20 to 45 mm from the -x
/// end". None where they are not, to within 5 % of the longest side.
[[nodiscard]] std::optional<std::string> pair_words(const PlaceFrame& frame, const Box3& one_mm,
                                                    const Box3& other_mm);

}  // namespace cavigram
