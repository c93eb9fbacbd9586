// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What a solid bounded by a mesh measures.
struct MassProperties {
    double volume_mm3 = 0.0;          ///< Signed: negative when the surface is inside out.
    double area_mm2 = 0.0;            ///< Of the surface, inner walls included.
    Box3 bounds_mm;                   ///< Around all triangles.
    Vec3 centroid_mm = Vec3::Zero();  ///< Of the volume; of the box when the volume is 0.
    /// Second moments of the volume about the centroid, per unit of volume: the entry (i, j) is the
    /// mean of x_i x_j.
    Mat3 second_moment_mm2 = Mat3::Zero();
    /// Inertia about the centroid divided by mass: trace(second moment) * 1 - second moment.
    Mat3 inertia_per_mass_mm2 = Mat3::Zero();
    /// Unit axes of the part as columns, the longest extent first (largest second moment);
    /// right-handed.
    Mat3 principal_axes = Mat3::Identity();
};

/// Volume, area, centroid and moments by the divergence theorem over signed tetrahedra from the box
/// center.
///
/// Sums are compensated and joined in fixed blocks: same bytes for any number of threads; a part
/// 100 m from the origin loses nothing (a plain sum about the origin is off by 1.6e-5 there).
/// Meaningful for closed meshes; on open ones the volume depends on the box.
///
/// O(n). Eberly, "Polyhedral mass properties", 2002, gives the same integrals.
[[nodiscard]] MassProperties mass_properties(const TriMesh& mesh, const RunContext& context = {});

}  // namespace cavigram
