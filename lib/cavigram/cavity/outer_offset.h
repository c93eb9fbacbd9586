// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// How finely what lies around a part is sampled.
struct OuterOffsetOptions {
    /// Estimated error of each shell that is good enough; far below what a person can pour or
    /// spread evenly.
    double wanted_relative_error = 0.003;
    /// The most cells to spend. When it is reached the error is what it is, and given as such.
    std::size_t max_cells = 4'000'000;
    /// The volume that the surface encloses, where it overlaps itself and its signed volume counts
    /// twice. Empty: the signed volume.
    std::optional<double> volume_mm3 = {};
};

/// What lies outside a part within one distance of its surface.
struct OuterShell {
    double thickness_mm = 0.0;  ///< The distance.
    double volume_mm3 = 0.0;    ///< Of the shell alone, the part left out.
    double error_mm3 = 0.0;     ///< Its estimated error.
    double at_least_mm3 = 0.0;  ///< Certainly no less (rounding aside).
    double at_most_mm3 = 0.0;   ///< Certainly no more.
};

/// The shells around a part, one for each distance asked for.
struct OuterOffset {
    double solid_mm3 = 0.0;          ///< What the surface encloses.
    std::vector<OuterShell> shells;  ///< In the order of the distances given.
    double cell_mm = 0.0;            ///< Edge of the finest cells used.
    std::size_t cells = 0;  ///< Points at which the distance was measured, in the last pass.
};

/// Measures the space outside a part that lies within each of `thicknesses_mm` of its surface: the
/// rubber of a brushed or poured skin, and with a second distance the jacket over it.
///
/// True distance on the adaptive cells of depth_volume (depth.h), on the outer side: what lies
/// farther than t is summed over a grid of known volume, and that and the part taken from it, so
/// the surface itself is never resolved. Holes and gaps narrower than 2 t are filled, as they are
/// by what is poured or spread. Errors as there: Richardson's estimate from two cell sizes, and
/// sure bounds. No cells are spent beyond the largest distance.
///
/// Cost about 12 area / t^2 nearest-point queries for the least t. On a rough scan the shell begins
/// at the bumps, so noise of sigma makes it larger by up to area sigma.
///
/// \pre `surface` is the index of `mesh`, closed and outward oriented, without hollows
/// (without_hollows)
///
/// \throw InvalidInput for no thickness, or one that is not above 0.
///
/// \throw UnusableInput if the volume is not positive.
///
/// \throw Cancelled
[[nodiscard]] OuterOffset outer_offset(const TriMesh& mesh, const TriangleBvh& surface,
                                       const std::vector<double>& thicknesses_mm,
                                       const OuterOffsetOptions& options = {},
                                       const RunContext& context = {});

/// The mesh without its hollows and without what lies in them: what rubber can touch. Nothing if
/// there is no hollow, and the mesh serves as it is.
///
/// A hollow is a shell that looks inward (negative volume). O(n), and a winding number for each
/// shell. \pre closed, consistently oriented
[[nodiscard]] std::optional<TriMesh> without_hollows(const TriMesh& mesh, const Shells& shells);

}  // namespace cavigram
