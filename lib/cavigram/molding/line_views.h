// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/measure/view.h"
#include "cavigram/molding/parting.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// A side from which a part is drawn that stands with the pull pointing up.
enum class LineSide {
    front,  ///< Where it is widest, as widest_view.
    right,  ///< A quarter turn to the right of the front, and so on.
    back,   ///< Across from the front.
    left,   ///< Across from the right.
    above,  ///< Against the pull, the front's edge toward the reader.
    below,  ///< Along the pull, the front's edge away from the reader.
};

/// The word for it: `front`, `right`, `back`, `left`, `above`, `below`.
[[nodiscard]] const char* to_text(LineSide side);

/// A stretch of the parting line, all of it seen from one side or all hidden from there.
struct LineStretch {
    std::vector<Vec3> points_mm;  ///< From place to place, on the surface.
    bool seen = false;            ///< Else the part hides it.
};

/// A place of the line, with what a height gauge shows there.
struct HeightMark {
    Vec3 at_mm = Vec3::Zero();  ///< On the line.
    double height_mm = 0.0;     ///< Above the table.
};

/// The parting line from one side.
struct LineView {
    LineSide side = LineSide::front;     ///< Which.
    View view;                           ///< Its paper; for all but above and below, up the pull.
    std::vector<LineStretch> stretches;  ///< All of the line.
    std::vector<HeightMark> marks;       ///< On what is seen, along each stretch.
    double seen_mm = 0.0;                ///< Length of what is seen.
};

/// The parting line from as many sides as it takes to see it.
struct LineViews {
    std::vector<LineView> views;  ///< In the order of LineSide; the front is always there.
    double table_mm = 0.0;        ///< Height of the part's lowest place along the pull, from the
                                  ///< origin: the table's.
    double spacing_mm = 10.0;     ///< Between marks, as below.
    double length_mm = 0.0;       ///< Of the line.
    double unseen_mm = 0.0;       ///< Of what none of the views shows.
};

/// How the line is marked.
struct LineViewOptions {
    /// Across the paper between marks; none: 5, 10, 20 or 50 mm by the part's width.
    std::optional<double> spacing_mm;
};

/// Draws the parting line as a person transfers it to a part that stands on a table, with a pencil
/// and a height gauge: views from the sides that are needed to see all of it, and heights at marks.
///
/// A place is seen where a ray from a hair before the surface toward the eye meets nothing, and
/// from the sides where the surface is not seen edge-on. Beside the front the sides are taken that
/// show most of what was not seen yet, until the next would show less than 3 % of the line; then
/// above and below by the same rule, and for loops of which the sides show less than half, as in
/// holes. From the sides marks stand at whole multiples of the spacing from the part's left end,
/// where the line is highest and lowest, and between these where it runs steeply; from above and
/// below at equal steps. Of stretches level to 0.05 mm one mark in five is kept.
///
/// O(places of the line x log triangles)
///
/// \pre `surface` is the index of the mesh of which `parting` is
///
/// \throw InvalidInput for a spacing that is not positive; Cancelled
[[nodiscard]] LineViews line_views(const TriMesh& mesh_mm, const TriangleBvh& surface,
                                   const Parting& parting, const LineViewOptions& options = {},
                                   const RunContext& context = {});

}  // namespace cavigram
