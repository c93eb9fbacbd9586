// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/molding/parting_loops.h"
#include "cavigram/molding/side_view.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// What makes a good parting line. Shares are of the part's diagonal; all were settled by trying.
struct PartingOptions {
    /// What lies in a face's way costs its area, or less where it is thinner than this.
    double hidden_share = 0.02;
    double length_share = 0.01;  ///< What the line's length costs, as a width.
    double height_weight = 2.0;  ///< What going up and down costs against that.
    double small_patch = 0.001;  ///< Smaller patches, as a share of their shell, are given up.
    double least_seen = 0.05;    ///< So are patches of which their half sees less than this.
    double aside_share = 0.005;  ///< Where rubber moves aside by less, either half may have it.
    bool smooth = true;          ///< False: along edges only.
};

/// A parting of the part along a pull.
struct Parting {
    Vec3 pull = Vec3::UnitZ();     ///< Unit; the upper half moves along it.
    PartingLine line;              ///< Loops, and whether the halves come off.
    bool smooth = false;           ///< Across faces; else along edges.
    std::vector<bool> upper_face;  ///< Which half touches each face (where smooth, its most).
    /// Where smooth: at each vertex what the line is the zero of, above 0 on the upper half's side.
    std::vector<double> field;
    std::vector<SideView> views;  ///< What lies in each face's way.
    double length_mm = 0.0;       ///< Of all loops.
    double low_mm = 0.0;   ///< Lowest height of the line along the pull, from the part's lowest
                           ///< place.
    double high_mm = 0.0;  ///< Its highest.
    double off_plane_mm = 0.0;  ///< How far it leaves the plane that fits it best.
    double height_mm = 0.0;     ///< Of the part along the pull.
    double upper_height_mm =
        0.0;  ///< Of the part within the upper half, from the line's lowest place.
    double lower_height_mm = 0.0;  ///< Within the lower half, up to the line's highest.
    double hidden_mm2 = 0.0;       ///< Surface that neither side sees.
};

/// Finds where the halves of a mold part on the surface.
///
/// Faces go to the upper or the lower half by a minimum cut (least_cut): a face costs its area
/// where much of the part lies in its way, and the line costs its length, less on sharp convex
/// edges, where flash is cut off best, more in creases, and more where it climbs. Small patches and
/// those that their half hardly sees are given up. Then the line is smoothed within what may belong
/// to either half (parting_field), if it stays as valid and costs less than along edges.
///
/// O(triangles log triangles), and the cut.
///
/// \pre `index` is of the surface's mesh; the pull is not zero
///
/// \throw Cancelled
[[nodiscard]] Parting parting(const PartingSurface& surface, const TriangleBvh& index,
                              const Vec3& pull, const PartingOptions& options = {},
                              const RunContext& context = {});

}  // namespace cavigram
