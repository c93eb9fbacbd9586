// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"

namespace cavigram {

/// How a hole was tried at a place.
struct HoleFitOptions {
    double most_mm = 40.0;  ///< No wider hole is tried.
    double step_mm = 0.25;  ///< The answer is a whole number of these.
};

/// The widest round hole that the part takes at a place of its surface, in mm; 0 if none does.
///
/// A hole through the mold ends on the part in a mouth. It fits if the part is beneath all of its
/// rim: seen along the bore, every point of the rim meets the surface no deeper below the place
/// than the hole is wide (common practice, no source), so that a horn or a lip narrower than the
/// hole is told from a dome. Tried along `up` and along the surface's own normal, whichever takes
/// the wider hole; 24 points of each rim. A place off the surface stands for the nearest on it.
///
/// Cost: 48 rays for each width tried.
///
/// \pre up is not zero; options above 0
[[nodiscard]] double widest_hole_mm(const AirTreeBuilder& solid, const Vec3& place_mm,
                                    const Vec3& up, const HoleFitOptions& options = {});

/// Whether a hole of this width fits there, as widest_hole_mm has it, to one of its steps.
///
/// \pre up is not zero; width above 0
[[nodiscard]] bool hole_fits(const AirTreeBuilder& solid, const Vec3& place_mm, const Vec3& up,
                             double width_mm);

/// Whether a place of the surface is on the part's underside: whether all of the surface that meets
/// there looks more than 20 degrees below the level (common practice, no source). Liquid can't be
/// poured in there, and would run out.
///
/// O(triangles around the place).
///
/// \pre up is not zero; `triangle` holds the place
[[nodiscard]] bool on_underside(const AirTreeBuilder& solid, const Vec3& place_mm,
                                std::int32_t triangle, const Vec3& up);

}  // namespace cavigram
