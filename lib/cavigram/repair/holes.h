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
    small,     ///< A few edges around: plain triangles between the rim's vertices.
    faired,    ///< Filled, refined to the rim's edge length and faired to run on smoothly.
    base,      ///< A large flat rim, as a scan leaves where the part stood: closed flat.
    mirrored,  ///< By the image of the part's other side, of which it is the mirror image.
};

/// One hole that was closed.
struct Patch {
    PatchKind kind = PatchKind::small;  ///< How it was made.
    Vec3 center_mm = Vec3::Zero();      ///< Mean of the rim.
    std::size_t rim_edges = 0;          ///< Of the hole.
    double rim_mm = 0.0;                ///< Length around.
    double diameter_mm = 0.0;           ///< Of the circle with the patch's area.
    double area_mm2 = 0.0;              ///< Of the patch.
    double volume_change_mm3 = 0.0;     ///< Against closing it with a flat fan from the rim's mean.
    double volume_below_mm3 = 0.0;  ///< How far the true volume may plausibly lie below and above.
    double volume_above_mm3 = 0.0;  ///< By how much the true volume could be more.
    /// The surface around was carried on, and what that is worth tried on holes cut elsewhere.
    bool carried_on = false;
    double trial_mm3 = -1.0;      ///< Negative: no holes could be cut.
    Vec3 outward = Vec3::Zero();  ///< Unit, out of the part through the hole.
    double agreeing_share = 0.0;  ///< Mirrored: of the surface, which is its own mirror image.
    Vec3 taken_from_mm = Vec3::Zero();  ///< Mirrored: the middle of the piece that was copied.
    /// The rim goes around something that runs on out of the hole, as the stump of a limb does: how
    /// much is missing can't be known, only that it is more.
    bool limb = false;
    /// The rim is no outline of a single smooth piece: structure may be missing.
    bool crumpled = false;
};

/// Which holes to close.
struct HoleOptions {
    double largest_rim_diameter_mm = 0.0;  ///< Holes wider than this stay open; 0: no limit.
    bool faired = true;  ///< False: plain triangles between the rim's vertices everywhere, which
                         ///< cross less where a rim is tangled.
    bool large = true;   ///< Mirror or carry on the surface across holes of more than 1 % of the
                         ///< area.
    bool mirror = true;  ///< False: carry on, even where the part is its own mirror image.
};

/// What fill_holes made.
struct HoleFilling {
    TriMesh mesh;                  ///< With the patches.
    std::vector<Patch> patches;    ///< One for each hole that was closed.
    std::vector<Patch> left_open;  ///< Too wide, or no patch could be found.
};

/// Closes holes.
///
/// \pre neighbors consistent, edges and vertices manifold (cut_to_manifold)
///
/// Rims of up to 8 edges: plain triangles of least area. Otherwise the rim is triangulated with
/// least area, refined and faired (Liepa, "Filling holes in meshes", 2003, as in CGAL), seeing only
/// the few rings of triangles around the rim, so that a large mesh is never turned into a halfedge
/// structure. A rim that is flat to 2.5 % of its diameter (mean distance from its plane), wider
/// than 0.3 of the part, and meets the sides at more than 60 degrees is closed flat; two flat rims
/// of one plane, one within the other, by the ring between.
///
/// Holes of more than 1 % of the area: where the part is its own mirror image (mirror_plane.h), and
/// the rim too, what lies across is copied. Otherwise the surface within 0.6 radii around is
/// carried on (radial basis functions), and six holes of the same area, cut for trial into the rest
/// of the part and closed so, tell how good that is. The patch lies between the faired one and the
/// continuation, by inverse squares of their errors.
///
/// The range of the volume: for these from the trials, otherwise between the flat patch, the patch
/// chosen, and a spherical cap that runs on at the angle at which the rim's triangles end (height =
/// D/2 tan(angle/2), never more than a half ball); for a base 2 % of its diameter down, 3.5 % up.
/// docs/rooms/repair.md derives it.
[[nodiscard]] HoleFilling fill_holes(const TriMesh& mesh, const HoleOptions& options = {},
                                     const RunContext& context = {});

}  // namespace cavigram
