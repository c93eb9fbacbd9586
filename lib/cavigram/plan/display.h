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
    /// At each vertex, where the halves part across triangles: above 0 on the upper half's side, 0
    /// on the line. Empty where they part along edges.
    std::vector<double> half_side;
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

/// The stand-in that is shown.
struct ShownMesh {
    TriMesh mesh;               ///< As DisplayBlock.
    double deviation_mm = 0.0;  ///< As DisplayBlock.
};

/// What of the part lies next to a vertex that is shown.
struct ShownNeighbor {
    std::size_t triangle = 0;  ///< The nearest of the part's,
    std::size_t vertex = 0;    ///< and its nearest corner.
};

/// The sides from which it is shown, for one way up.
struct ShownSides {
    View front;                ///< As DisplayBlock.
    View side;                 ///< As DisplayBlock.
    View top;                  ///< As DisplayBlock.
    Silhouette top_outline;    ///< As DisplayBlock.
    Silhouette front_outline;  ///< As DisplayBlock.
};

/// What each half of the mold touches of it.
struct ShownHalves {
    std::vector<std::uint8_t> upper;  ///< As DisplayBlock::upper_half.
    std::vector<double> side;         ///< As DisplayBlock::half_side.
};

/// The parting line for paper.
struct ShownLine {
    LineViews line;                    ///< As DisplayBlock.
    std::vector<Silhouette> outlines;  ///< As DisplayBlock::line_outlines.
};

/// As many triangles are shown: a page of a megabyte or so, smooth to the eye.
inline constexpr std::size_t kShownTriangles = 60'000;

/// Decimates the part to kShownTriangles. `surface` is the index of its mesh. About 2 s for a
/// million triangles.
///
/// \throw Cancelled
[[nodiscard]] ShownMesh shown_mesh(const TriMesh& part, const TriangleBvh& surface,
                                   const RunContext& context = {});

/// For each vertex that is shown what of the part lies next to it: one nearest point each.
///
/// \throw Cancelled
[[nodiscard]] std::vector<ShownNeighbor> shown_neighbors(const TriMesh& shown, const TriMesh& part,
                                                         const TriangleBvh& surface,
                                                         const RunContext& context = {});

/// Three views and two outlines.
///
/// \throw Cancelled
[[nodiscard]] ShownSides shown_sides(const TriMesh& shown, const Vec3& up,
                                     const RunContext& context = {});

/// Which half touches each triangle, by what lies next to its middle, and where the line runs
/// across triangles its side at each vertex, by the place of the part next to it.
///
/// \pre `parting` is of `part`, `surface` its index
///
/// \throw Cancelled
[[nodiscard]] ShownHalves shown_halves(const TriMesh& shown, const TriMesh& part,
                                       const Parting& parting, const TriangleBvh& surface,
                                       const RunContext& context = {});

/// The views of the parting line, and the outline in each.
///
/// \pre `parting` is of `part`, `surface` its index
///
/// \throw Cancelled
[[nodiscard]] ShownLine shown_line(const TriMesh& shown, const TriMesh& part,
                                   const Parting& parting, const TriangleBvh& surface,
                                   const RunContext& context = {});

/// What the page, the pictures and the templates show of a plan, put together: thickness, density,
/// arrival and zones next to each vertex. `neighbors` may be empty where the plan has none of them.
///
/// \pre plan.part; all are of that part and that stand-in
[[nodiscard]] DisplayBlock display_block(const Plan& plan, const ShownMesh& shown,
                                         const std::vector<ShownNeighbor>& neighbors,
                                         const ShownSides& sides, const ShownHalves& halves,
                                         const ShownLine& line);

/// For each vertex of the part the thinnest sample of a listed thin place on a triangle around it;
/// infinity elsewhere: edges and corners, thin on any part, are no thin places.
///
/// O(samples)
///
/// \pre plan.part and plan.thin.
[[nodiscard]] std::vector<double> listed_thickness_mm(const Plan& plan);

}  // namespace cavigram
