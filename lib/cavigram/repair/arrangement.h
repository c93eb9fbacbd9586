// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// The solid that crossing surfaces enclose.
struct Arrangement {
    /// Corners at one place are one vertex; where solids touch, edges may have four triangles
    /// (cut_to_manifold).
    TriMesh mesh;
    std::size_t crossings = 0;  ///< Pairs of triangles that crossed.
    std::size_t left = 0;       ///< Pairs that still cross because corners had to be rounded.
    double moved_mm = 0.0;      ///< How far rounding moved a corner at most.
    /// Volume that the pairs left may count wrongly: their area times the way that they moved.
    double left_mm3 = 0.0;
    /// False: the surface was not closed, or contradicted itself; `mesh` is empty.
    bool solved = false;
};

/// The boundary of where closed surfaces wind around at least once, free of crossings.
///
/// What they wind around twice is solid once, what they wind around the other way is none. Only
/// triangles that cross are cut. `group` gives each triangle a number: only triangles of one group
/// are one solid, and groups must not cross each other.
///
/// An exact arrangement (as in Zhou, Grinspun, Zorin & Jacobson, "Mesh arrangements for solid
/// geometry", ACM TOG 35 (2016)): corners are taken as whole numbers of 53 bits; where two
/// triangles meet is found by exact predicates; triangles that lie in one plane are cut together;
/// surfaces between curves of crossing are kept or dropped by one exact ray each. Corners are
/// rounded last; where that makes triangles cross or vanish, their corners go to a coarser grid,
/// from 2^-36 of the size on, at most eight times. Same bytes for any number of threads. About O(n
/// log n) for finding the pairs, then O(pairs log pairs).
///
/// \pre closed, neighbors consistent; group as long as the triangles
/// \throw Cancelled
[[nodiscard]] Arrangement arrange(const TriMesh& mesh, const std::vector<std::int32_t>& group,
                                  const RunContext& context = {});

}  // namespace cavigram
