// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/venting/air_tree.h"

namespace cavigram {

/// How finely the solid is cut.
struct ColumnOptions {
    /// Columns along the longer side of the part, seen along the direction; at least 2. The error
    /// of a volume falls with the spacing, and the cost grows with its square.
    int columns = 192;
};

/// A stretch of a column inside the solid.
struct ColumnInterval {
    std::int32_t x = 0;             ///< Which column.
    std::int32_t y = 0;             ///< As x.
    double top_height_mm = 0.0;     ///< Along the direction, in the part's own coordinates.
    double bottom_height_mm = 0.0;  ///< As top_height_mm.
};

/// The air tree once more, by another way: the solid cut into upright columns, each a stack of
/// intervals, which are connected where those of neighboring columns overlap.
struct ColumnTree {
    Vec3 up = Vec3::UnitZ();  ///< Unit.
    double spacing_mm = 0.0;  ///< Of the columns.
    /// As in AirTree; here peak_vertex and saddle_vertex are numbers of intervals.
    std::vector<AirTree::Arc> arcs;
    std::vector<std::int32_t> roots;  ///< Arcs without a parent, one for each solid.
    std::vector<Vec3>
        peak_mm;              ///< Of each arc, in the part's coordinates: within the spacing of it.
    double volume_mm3 = 0.0;  ///< Of all roots.
    std::vector<ColumnInterval> intervals;  ///< Of each column from the top down.
};

/// Builds the column tree for one way up.
///
/// Along each column the surface's signed crossings are exact (orient.h), and an interval is where
/// the surface winds around it at least once. So it needs no mesh without crossings, and where
/// shells overlap the space counts once. Heights are exact on the column, places and volumes to
/// about the spacing: a neck or peak narrower than it can be missed. Independent of AirTree but for
/// the union-find: for checking it, and to fall back on where the surface crosses itself.
///
/// O(triangles + columns^2 log columns).
///
/// \pre closed.
///
/// \throw InvalidInput for an option out of range or a direction that is zero.
///
/// \throw UnusableInput for a mesh without triangles.
///
/// \throw Cancelled
[[nodiscard]] ColumnTree column_tree(const TriMesh& mesh_mm, const Vec3& up,
                                     const ColumnOptions& options = {},
                                     const RunContext& context = {});

}  // namespace cavigram
