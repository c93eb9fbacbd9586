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
    /// Stable short name, `lower_snake`: `degenerate`, `duplicate`, `folded`, `flipped`, `crack`,
    /// `hole`, `missing_base`, `nonmanifold_edge`, `nonmanifold_vertex`, `crossing`, `overlap`,
    /// `hollow`, `double_skin`, `within`, `scrap`, `sliver`, `spike`, `noise`.
    std::string kind;
    std::size_t count =
        0;  ///< Triangles, edges, vertices, holes, shells or pairs, as the kind says.
    std::vector<std::array<double, 3>> places_mm;  ///< At most kMostFaultPlaces.
    /// With each place: the rim's length for holes, the height for spikes; empty for the rest.
    std::vector<double> sizes_mm;
};

inline constexpr std::size_t kMostFaultPlaces = 1000;

/// What no mending removes, but a person should know of.
struct ShapeSurvey {
    /// Slivers: triangles whose height is less than 1e-3 of their longest edge. Spikes: vertices
    /// that stand out from the mean of their neighbors by more than three times the neighbors' mean
    /// distance from that mean, all their triangles steeper than 60 degrees.
    std::vector<Fault> faults;
    /// How far vertices lie off the smooth surface on average (standard deviation): 0 for flat
    /// faces, little on smooth ones.
    ///
    /// For each vertex the offset from its neighbors' mean along the normal, less the mean of the
    /// neighbors' own offsets; the median of its amount over 0.92, which white noise on a mesh with
    /// six neighbors everywhere gives (variance 1.85, median of a normal variable 0.67 of its
    /// deviation). Only vertices count whose triangles, and those of their neighbors, lie within 37
    /// degrees of the vertex's normal; 0 where these are fewer than a fifth of all, or than 200.
    /// Noise that several neighbors share is seen only in part.
    double noise_mm = 0.0;
};

/// Looks at each vertex's neighborhood. O(n).
[[nodiscard]] ShapeSurvey survey_shape(const TriMesh& mesh);

}  // namespace cavigram
