// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What may be wrong with a surface as read.
enum class FaultKind {
    degenerate,  ///< Two corners of a triangle in one place.
    duplicate,   ///< The same triangle again.
    folded,      ///< Two triangles back to back.
    flipped,     ///< Faces that look against their neighbors.
    crack,       ///< Borders that nearly meet.
    hole,
    missing_base,        ///< A large flat open side, as the table leaves on a scan.
    nonmanifold_edge,    ///< Touches itself along an edge.
    nonmanifold_vertex,  ///< Touches itself in a point.
    crossing,            ///< Triangles that cross.
    overlap,             ///< Solids that cross.
    hollow,              ///< Hollow space in the part.
    double_skin,         ///< Two skins of one wall.
    within,              ///< Solid in solid.
    scrap,               ///< Small pieces beside the part.
    sliver,              ///< Needle-like triangles.
    spike,               ///< Vertices that stand out from all their neighbors.
    noise,               ///< Roughness of the whole surface.
};

/// The word for a kind of fault in text and JSON: `missing_base`.
[[nodiscard]] const char* to_text(FaultKind kind);

/// One kind of fault in the surface as read, counted and placed.
struct Fault {
    FaultKind kind = FaultKind::degenerate;  ///< What is wrong.
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

/// Looks at each vertex's neighborhood, for faults and for noise at once. O(n).
///
/// \throw Cancelled
[[nodiscard]] ShapeSurvey survey_shape(const TriMesh& mesh, const RunContext& context = {});

}  // namespace cavigram
