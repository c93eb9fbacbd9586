// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// What stand-in is wanted.
struct ProxyOptions {
    /// Wanted count. A search over thousands of directions costs about 1 ms each at this size.
    std::size_t triangles = 16000;
    /// The deviation is measured at no more than so many vertices of the full mesh, evenly by
    /// index; at every vertex of the proxy.
    std::size_t most_samples = 40000;
    /// Whether it must be a solid, for computing; false to look at, which is some times as fast.
    bool solid = true;
};

/// A coarser stand-in for a closed mesh.
struct Proxy {
    TriMesh mesh;  ///< A solid: closed, outward oriented, manifold. The mesh itself if not
                   ///< decimated.
    bool decimated = false;  ///< False: small enough already, or what came out was no closed solid.
    double deviation_mm = 0.0;  ///< Largest distance found between the two surfaces, both ways.
    double mean_deviation_mm = 0.0;  ///< Mean distance from the full mesh's samples to the proxy.
};

/// Decimates a closed mesh by collapsing edges until the wanted count is left.
///
/// A solid is made by passes under a rising tolerance: cost by quadrics of planes (Garland &
/// Heckbert, "Surface simplification using quadric error metrics", 1997); a collapse that would
/// change the surface's topology or fold it is not made, so shells, holes and hollows stay, and
/// more triangles than wanted stay where fewer would stray by more than 3 % of the part. The
/// surface may cross itself a little where it is thin. What is only looked at comes from
/// meshoptimizer, unless it lies farther off than 0.5 % of the part's diagonal; it may touch or
/// cross itself anywhere. `surface` is the index of `mesh_mm`.
///
/// Cost: about 6 us a triangle for a solid, 1.5 us otherwise; 150 bytes a triangle while it runs.
///
/// \pre closed, manifold
/// \throw InvalidInput for fewer than 100 triangles wanted
/// \throw Cancelled
[[nodiscard]] Proxy decimated_proxy(const TriMesh& mesh_mm, const TriangleBvh& surface,
                                    const ProxyOptions& options = {},
                                    const RunContext& context = {});

}  // namespace cavigram
