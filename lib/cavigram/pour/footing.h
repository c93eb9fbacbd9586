// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What a part takes up on the bench for one way up, and whether it would stand by itself.
struct Footing {
    /// Area of the smallest rectangle around the part as seen from above: what a block mold takes
    /// up, its walls apart.
    double block_mm2 = 0.0;
    double block_length_mm = 0.0;  ///< Its longer side.
    double block_width_mm = 0.0;   ///< Its shorter side.
    double foot_mm2 = 0.0;  ///< Convex hull of what lies lowest, within `level_mm` of the bench.
    /// How far the center of mass lies within that hull; below 0: so far outside, and the part
    /// falls over. What holds it must be propped up or the mold made flat.
    double margin_mm = 0.0;
    /// Whether it stands by itself.
    [[nodiscard]] bool stands() const { return margin_mm > 0.0; }
};

/// Measures the footing. `center_mm` is the center of mass. The smallest rectangle has a side on
/// the hull's edge (Freeman & Shapira, Commun. ACM 18 (1975) 409).
///
/// O(n log n).
///
/// \pre at least one triangle; `up` is not zero; level_mm >= 0
[[nodiscard]] Footing footing(const TriMesh& mesh_mm, const Vec3& up, const Vec3& center_mm,
                              double level_mm = 0.5);

}  // namespace cavigram
