// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// Rubber thinner than this tears when it is drawn out of what it fills, so that a mold maker fills
/// such a hole or crevice on the master instead. Common practice, no source.
inline constexpr double kThinnestTongue_mm = 2.0;

/// A tunnel through the part that is too narrow for a tongue of rubber.
struct SmallTunnel {
    Vec3 at_mm = Vec3::Zero();  ///< The middle of where it was closed.
    double width_mm = 0.0;      ///< Of a circle as long as the way around it there, along edges.
};

/// A closed surface without its small tunnels.
struct BridgedSurface {
    /// The triangles of the mesh in their order, then those of the walls that close tunnels, two
    /// walls in the same place for each; some corners have become two.
    TriMesh mesh_mm;
    std::vector<SmallTunnel> tunnels;  ///< In the order in which they were closed.
    /// For each triangle beyond those of the mesh the one of the mesh that it grew on.
    std::vector<std::int32_t> grown_on;
};

/// Closes tunnels through a part that are narrower than `width_mm`, by a wall across each.
///
/// A loop along edges no longer than a circle of that width, around empty space, that does not part
/// the surface in two, is cut open, and both of its rims are closed by a fan: that takes one hole
/// out of the surface. Loops are looked for around corners whose face has part before it within
/// half of that length: the shortest ways from such a corner, and of the edges left over by a tree
/// of corners and a tree of faces the shortest loops (Erickson & Whittlesey, "Greedy optimal
/// homotopy and homology generators", 2005). A slot that is longer than wide goes by its girth; one
/// that is meshed so coarsely that no loop along edges is that short stays.
///
/// The mesh is given back as it is where no shell has a hole through it. Else a short ray for each
/// face, and about O(corners near a tunnel * log).
///
/// \pre closed, manifold, outward oriented; `index` is of the mesh; width_mm > 0
///
/// \throw Cancelled
[[nodiscard]] BridgedSurface bridge_small_tunnels(TriMesh mesh_mm, const TriangleBvh& index,
                                                  double width_mm = kThinnestTongue_mm,
                                                  const RunContext& context = {});

}  // namespace cavigram
