// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// How steep a part's walls stand against the pull.
struct Draft {
    double area_mm2 = 0.0;   ///< Of the part.
    double steep_mm2 = 0.0;  ///< Of walls with less draft than the limit.
    double limit_deg = 0.0;  ///< That limit.
    /// Share of the surface that scrapes along the mold as it comes off.
    [[nodiscard]] double steep_share() const { return area_mm2 > 0.0 ? steep_mm2 / area_mm2 : 0.0; }
};

/// The area with less draft than a limit: the angle between wall and pull, asin |n d|. The same for
/// a pull and its opposite; undercut walls count by the same angle.
///
/// O(triangles)
///
/// \pre the pull is not zero
[[nodiscard]] Draft draft(const TriMesh& mesh_mm, const Vec3& pull, double limit_deg = 3.0);

/// How far a wall leans over a length along the pull: length tan(angle). docs/checks.md R3
[[nodiscard]] double draft_offset_mm(double angle_deg, double length_mm);

}  // namespace cavigram
