// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/geom/box.h"
#include "cavigram/geom/vector.h"

namespace cavigram {

/// Where a hole is, as a person with a ruler finds it on the part: along each axis the distance
/// from the nearer end of the part's box, as in "12 mm from the +x end, 24 mm from the -y end, at
/// the +z end". Within half a millimeter of an end it is at the end; where the two ends are as near
/// to within 1 %, it is in the middle. \pre the box is not empty
[[nodiscard]] std::string hole_words(const Box3& bounds_mm, const Vec3& place_mm);

}  // namespace cavigram
