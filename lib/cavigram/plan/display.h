// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/measure/silhouette.h"
#include "cavigram/measure/view.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/molding/line_views.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

struct Plan;

/// A coarser surface to look at, with what is known of each of its vertices, and the sides from
/// which it is shown. Nothing is weighed or measured on it.
struct DisplayBlock {
    TriMesh mesh;               ///< Decimated where the part has more than kShownTriangles.
    double deviation_mm = 0.0;  ///< Largest distance found between it and the part's surface.
    std::vector<double> thickness_mm;    ///< At each vertex; empty without the stage thin.
    std::vector<double> thin_mm;         ///< The same in listed thin places; infinity elsewhere.
    std::vector<double> density_kg_m3;   ///< Local mean inward of each vertex; empty without foam.
    std::vector<std::uint8_t> all_skin;  ///< 1 where the wall has no core; empty without foam.
    /// 1 for each triangle that the mold's upper half touches; empty without the stage split.
    std::vector<std::uint8_t> upper_half;
    std::vector<double> arrival_s;  ///< Of the foam at each vertex; empty without the stage rise.
    View front;                     ///< The part as it stands for the pour, from its widest side.
    View side;                      ///< A quarter turn to the right.
    View top;                       ///< From above, the front's lower edge toward the reader.
    Silhouette top_outline;         ///< The outline in `top`.
    Silhouette front_outline;       ///< The outline in `front`.
    /// The parting line for paper, the part standing with the pull upright; none without the stage
    /// split, and where there is no line.
    LineViews line;
    std::vector<Silhouette> line_outlines;  ///< The outline in each of its views.
};

/// As many triangles are shown: a page of a megabyte or so, smooth to the eye.
inline constexpr std::size_t kShownTriangles = 60'000;

/// What the page, the pictures and the templates show of a plan. `surface` is the index of the
/// part's mesh. Decimation, one nearest point for each vertex, two outlines: about 3 s for a
/// million triangles.
///
/// \pre plan.part.
///
/// \throw Cancelled
[[nodiscard]] DisplayBlock display_block(const Plan& plan, const TriangleBvh& surface,
                                         const RunContext& context = {});

/// For each vertex of the part the thinnest sample of a listed thin place on a triangle around it;
/// infinity elsewhere: edges and corners, thin on any part, are no thin places.
///
/// O(samples)
///
/// \pre plan.part and plan.thin.
[[nodiscard]] std::vector<double> listed_thickness_mm(const Plan& plan);

}  // namespace cavigram
