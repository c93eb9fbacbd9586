// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <string>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// One kind of fault in the surface as read, counted and placed.
struct Fault {
    /// Stable short name, `lower_snake`: `degenerate`, `duplicate`, `folded`, `flipped`, `crack`, `hole`, `missing_base`, `nonmanifold_edge`,
    /// `nonmanifold_vertex`, `crossing`, `overlap`, `hollow`, `double_skin`, `scrap`, `sliver`, `spike`, `noise`.
    std::string kind;
    std::size_t count = 0;  ///< Triangles, edges, vertices, holes, shells or pairs, as the kind says.
    std::vector<std::array<double, 3>> places_mm;  ///< At most kMostFaultPlaces.
    /// With each place: the rim's length for holes, the height for spikes; empty for the rest.
    std::vector<double> sizes_mm;
};

inline constexpr std::size_t kMostFaultPlaces = 1000;

/// Slivers, spikes and noise: what no mending removes, but a person should know of. O(n).
///
/// A sliver is a triangle whose height is less than 1e-3 of its longest edge. A spike is a vertex that stands out from the mean of its neighbors by more than
/// three times their mean distance from that mean, with all of its triangles steeper than 60 degrees.
[[nodiscard]] std::vector<Fault> shape_faults(const TriMesh& mesh);

/// How far vertices lie off the smooth surface on average (standard deviation), from the surface alone: 0 for flat faces, little on smooth ones.
///
/// For each vertex the offset from its neighbors' mean along the normal, less the mean of the neighbors' own offsets; the median of its amount over
/// 0.92, which white noise on a mesh with six neighbors everywhere gives (variance 1.85, median of a normal variable 0.67 of its deviation). Only vertices whose triangles lie within 60
/// degrees of their mean count; 0 where these are fewer than half of all, or fewer than 200. Noise that several neighbors share is seen only in part. O(n).
[[nodiscard]] double surface_noise_mm(const TriMesh& mesh);

}  // namespace cavigram
