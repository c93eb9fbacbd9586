// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/molding/parting.h"
#include "cavigram/molding/small_tunnels.h"
#include "cavigram/spatial/proxy.h"
#include "cavigram/venting/show_side.h"

namespace cavigram {

/// What one pull direction is worth.
struct PullValue {
    Vec3 pull = Vec3::UnitZ();    ///< Unit. Its opposite is worth the same.
    double locked_mm3 = 0.0;      ///< Space in which rubber is caught; closed cavities apart.
    double stretch = 0.0;         ///< Most that rubber must stretch, a share.
    double steep_share = 0.0;     ///< Of the surface, with less draft than the limit.
    bool valid = false;           ///< The halves come off without a slit.
    int slits = 0;                ///< That it takes otherwise.
    bool third_part = false;      ///< A lump of rubber that no half can be drawn off.
    int wrapped = 0;              ///< Solids within one half.
    int loops = 0;                ///< Of the parting line,
    int shut_offs = 0;            ///< of which so many around holes.
    double length_mm = 0.0;       ///< Of the line.
    double off_plane_mm = 0.0;    ///< How far the line leaves a plane.
    double half_height_mm = 0.0;  ///< Of the part in the taller half.
    double show_share = 0.0;      ///< Of the line's length, on the show side.
    double upright = 0.0;         ///< Cosine between pull and the way up; 0 where it is not known.
};

/// One row of the answer.
struct RankedPull {
    PullValue value;  ///< On the stand-in, but for what `measured` says.
    int rank = 0;     ///< 1: recommended.
    /// Locked space, stretch, slits and lumps were measured on the full mesh, in finer columns.
    bool measured = false;
    bool pareto = false;  ///< No other row is better in one respect and no worse in the others.
    double score = 0.0;   ///< What it is ranked by, less is better: see search_pull.
    /// The loops of the parting line on the stand-in, with fewer points.
    std::vector<std::vector<Vec3>> line_mm;
};

/// Pull directions, ranked.
struct PullSearch {
    std::vector<RankedPull> rows;     ///< Best first.
    std::size_t looked_at = 0;        ///< Directions that were tried.
    std::size_t free_directions = 0;  ///< Of these, those that lock nothing worth counting.
    double tolerance_mm3 = 0.0;       ///< Locked space that is not worth counting.
    std::size_t proxy_triangles = 0;  ///< Of the stand-in.
    double proxy_deviation_mm = 0.0;  ///< Largest distance found between it and the part.
};

/// What the search is told.
struct PullSearchOptions {
    int directions = 1000;      ///< Of the first look, on half the sphere: one every 4.5 degrees.
    int across = 96;            ///< Columns of the first look.
    std::size_t finalists = 6;  ///< Whose parting line is drawn.
    std::size_t measured = 4;   ///< The best of these are measured on the full mesh, and more until
                                ///< the first was.
    int measured_across = 192;  ///< Columns in which they are.
    std::optional<Vec3> up =
        {};  ///< Which way is up while the foam rises. Across it, a highest place
             ///< that is round lies on the parting line, where a vent is easy.
    std::optional<ShowSide> show = {};  ///< The side that is seen: flash on it counts.
    std::optional<Vec3> only = {};      ///< Nothing is searched: the one row is this pull's.
    double draft_deg = 3.0;             ///< Less draft scrapes. Common practice, no source.
    /// Locked space not worth counting, as a share of the part: the noise of the columns.
    double tolerance_share = 1e-3;
    /// Pockets smaller than this share of the part are not judged by their stretch: on the master
    /// they are filled, or their rubber tears off without harm. A guess.
    double least_pocket = 5e-4;
    /// Tunnels and crevices that are narrower are filled on the master, and not judged.
    double thinnest_tongue_mm = kThinnestTongue_mm;
    /// Rubber that stretches less lets go by itself. A guess.
    double easy_stretch = 0.1;
    std::size_t proxy_triangles = 16000;  ///< Of the stand-in on which lines are drawn.
    std::size_t look_triangles = 8000;    ///< Of that on which all directions are looked at.
};

/// Searches the directions for that in which a mold of two halves comes off best.
///
/// First look at evenly spread directions, the coordinate and the principal axes, by locked space
/// and draft, on a coarse stand-in; the best that lie apart are refined by a pattern search with
/// steps of 2 and 0.7 degrees; of these, stretch and parting line are found on a finer one, with
/// its small tunnels bridged. Of the best, locked space and stretch are measured again on the full
/// mesh, until the first is one of these. Ranked by a sum, in vents: what one more vent is worth to
/// the person who drills, plugs and trims it. 20 for a third part, 4 for each slit, 1 for a solid
/// that is cast by itself, 1 for each 10 % of stretch beyond the easy one and no more than 9, 0.5
/// for each percent of the part that is locked and no more than 20, 5 for a line that is all on the
/// show side, and 5 times: how far the line leaves a plane, the taller half's height and a fifth of
/// the line's length, over the diagonal, 0.15 of the share of steep surface, 0.05 off the
/// coordinate axes, and a tenth of the cosine to the way up. The weights are guesses. Same answer
/// for any number of threads.
///
/// O(directions * triangles of the stand-in)
///
/// \pre closed, outward oriented; `index` is of the mesh
///
/// \throw InvalidInput for an option out of range
///
/// \throw Cancelled
[[nodiscard]] PullSearch search_pull(const TriMesh& mesh_mm, const TriangleBvh& index,
                                     const PullSearchOptions& options = {},
                                     const RunContext& context = {});
/// The same on a stand-in that was made before.
///
/// \pre `stand_in` is decimated_proxy of the mesh with `options.proxy_triangles`
///
/// \throw InvalidInput, Cancelled
[[nodiscard]] PullSearch search_pull(const TriMesh& mesh_mm, Proxy stand_in,
                                     const PullSearchOptions& options, const RunContext& context);

/// The share of a parting line that lies on the show side, by length. O(n)
[[nodiscard]] double share_on_show(const PartingLine& line, const TriMesh& mesh_mm,
                                   const ShowSide& show);

}  // namespace cavigram
