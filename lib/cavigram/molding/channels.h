// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// A straight hole through the mold, from the cavity out: the pour spout or a vent.
struct Channel {
    Vec3 from_mm = Vec3::Zero();  ///< Where it leaves the cavity.
    double width_mm = 0.0;        ///< Its diameter.
    double length_mm = 0.0;       ///< Through all there is around the part.

    /// What it takes of what is around the part.
    [[nodiscard]] double volume_mm3() const;
};

/// How far a hole from a place on the surface runs along `direction` until it leaves the shell of
/// all that lies within `thickness_mm` of the part: the true length of a vent through rubber and
/// jacket.
///
/// Steps by the distance that is certainly still within (Hart, Vis. Comput. 12 (1996) 527), some
/// ten nearest-point queries. Right to a micrometer.
///
/// \pre direction is not zero; thickness > 0
[[nodiscard]] double shell_length_mm(const TriangleBvh& surface, const Vec3& from_mm,
                                     const Vec3& direction, double thickness_mm);

/// The same for a block whose face across `direction` lies `thickness_mm` beyond the part's
/// farthest place that way.
///
/// \pre direction is not zero
[[nodiscard]] double block_length_mm(const TriMesh& mesh_mm, const Vec3& from_mm,
                                     const Vec3& direction, double thickness_mm);

}  // namespace cavigram
