// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// How a hole was closed.
enum class PatchKind {
    small,   ///< A few edges around: plain triangles between the rim's vertices.
    faired,  ///< Filled, refined to the rim's edge length and faired to run on smoothly.
    base,    ///< A large flat rim, as a scan leaves where the part stood: closed flat.
};

/// One hole that was closed.
struct Patch {
    PatchKind kind = PatchKind::small;
    Vec3 center_mm = Vec3::Zero();  ///< Mean of the rim.
    std::size_t rim_edges = 0;
    double rim_mm = 0.0;       ///< Length around.
    double diameter_mm = 0.0;  ///< Of the circle with the patch's area.
    double area_mm2 = 0.0;
    double volume_change_mm3 = 0.0;  ///< Against closing it with a flat fan from the rim's mean.
    double volume_below_mm3 = 0.0;   ///< How far the true volume may plausibly lie below and above.
    double volume_above_mm3 = 0.0;
};

/// Which holes to close.
struct HoleOptions {
    double largest_rim_diameter_mm = 0.0;  ///< Holes wider than this stay open; 0: no limit.
    bool faired = true;  ///< False: plain triangles between the rim's vertices everywhere, which
                         ///< cross less where a rim is tangled.
};

struct HoleFilling {
    TriMesh mesh;
    std::vector<Patch> patches;
    std::vector<Patch> left_open;  ///< Too wide, or no patch could be found.
};

/// Closes holes. \pre neighbors consistent, edges and vertices manifold (cut_to_manifold)
///
/// Rims of up to 8 edges: plain triangles of least area. Otherwise the rim is triangulated with
/// least area, refined and faired (Liepa, "Filling holes in meshes", 2003, as in CGAL), seeing only
/// the few rings of triangles around the rim, so that a large mesh is never turned into a halfedge
/// structure. A rim that is flat to 2.5 % of its diameter (mean distance from its plane), wider
/// than 0.3 of the part, and meets the sides at more than 60 degrees is closed flat; two flat rims
/// of one plane, one within the other, by the ring between.
///
/// The range of the volume: between the flat patch, the patch chosen, and a spherical cap that runs
/// on at the angle at which the rim's triangles end (height = D/2 tan(angle/2), never more than a
/// half ball); for a base 2 % of its diameter up or down. docs/rooms/repair.md derives it.
[[nodiscard]] HoleFilling fill_holes(const TriMesh& mesh, const HoleOptions& options = {},
                                     const RunContext& context = {});

}  // namespace cavigram
