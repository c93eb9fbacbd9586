// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// Two walls of a part that face each other across open space.
struct FacingGap {
    double width_mm = 0.0;      ///< From wall to wall, along the first one's normal.
    Vec3 at_mm = Vec3::Zero();  ///< Halfway.
};

/// Which gaps are looked for.
struct GapOptions {
    double more_than_mm = 0.0;  ///< Narrower ones do not count.
    double less_than_mm = 0.0;  ///< Nor do wider ones.
    /// Places on the surface from which it is looked, evenly by area: a gap that takes up more than
    /// about a thousandth of the surface is found.
    std::size_t samples = 4000;
};

/// The narrowest gap between the two widths, if there is one: a ring's hole, a slot, the space
/// between two arms. Walls face each other where their normals are opposed to within 37 degrees, so
/// that corners and grooves which open do not count.
///
/// Rays along the normals; O(samples log n), O(n) to lay out the samples. Deterministic.
///
/// \pre `surface` is the index of `mesh`, closed and outward oriented; samples > 0
///
/// \throw Cancelled
[[nodiscard]] std::optional<FacingGap> narrowest_gap(const TriMesh& mesh,
                                                     const TriangleBvh& surface,
                                                     const GapOptions& options,
                                                     const RunContext& context = {});

}  // namespace cavigram
