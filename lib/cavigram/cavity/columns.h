// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// How finely a part is cut into columns.
struct ColumnCutOptions {
    /// Columns along the longer side of the part as seen along the direction, 1 to 8192. Volumes
    /// err by about area times spacing / 10 on edges across the grid and far less on smooth bodies.
    int across = 256;
};

/// A stretch of a column with the same winding.
struct ColumnPiece {
    double from_mm = 0.0;  ///< Height along the direction, from the origin.
    double to_mm = 0.0;    ///< Above from_mm.
    int winding =
        0;  ///< Never 0: 1 in a plain part, 2 where two shells overlap, negative inside out.
};

/// A stretch of a column within the part.
struct ColumnStretch {
    double from_mm = 0.0;  ///< As in ColumnPiece.
    double to_mm = 0.0;    ///< Above from_mm.
};

/// A part cut into columns along a direction: for each column of a square grid, the exact stretches
/// in which the surface winds around it.
struct ColumnCut {
    Frame frame;                    ///< x and y span the grid, z runs along the columns.
    Vec2 corner_mm = Vec2::Zero();  ///< Lower corner of the grid, in the frame.
    double spacing_mm = 0.0;  ///< Edge of a column. The one and only inexactness: what lies between
                              ///< two columns is not seen.
    int count_x = 0;          ///< Columns along x of the frame.
    int count_y = 0;          ///< Columns along y.
    std::vector<std::size_t>
        first;  ///< First piece of each column, x running fastest, and one past the last.
    std::vector<ColumnPiece> pieces;  ///< Of each column from below to above.

    /// The pieces of one column.
    [[nodiscard]] std::span<const ColumnPiece> column(int x, int y) const {
        const auto c = static_cast<std::size_t>(x) +
                       static_cast<std::size_t>(y) * static_cast<std::size_t>(count_x);
        return {pieces.data() + first[c], first[c + 1] - first[c]};
    }
    /// Where one column is in the part, from below to above: the pieces of positive winding, those
    /// that touch as one.
    ///
    /// O(pieces of the column)
    [[nodiscard]] std::vector<ColumnStretch> inside(int x, int y) const;
    /// The middle of a column at a height, in the part's coordinates.
    [[nodiscard]] Vec3 place_mm(int x, int y, double height_mm) const {
        return frame.world({corner_mm.x() + (x + 0.5) * spacing_mm,
                            corner_mm.y() + (y + 0.5) * spacing_mm, height_mm});
    }
};

/// Cuts a part into columns.
///
/// Where a column meets the surface is decided exactly (orient.h: a column through an edge or a
/// vertex counts as a hair beside it), so on a closed mesh every column leaves the part as often as
/// it enters. Heights are those of the triangles' planes in double precision. Works on surfaces
/// that cross themselves.
///
/// O(triangles + crossings).
///
/// \pre closed mesh; on an open one columns through the gap keep a winding to the top, and are left
/// out
///
/// \throw InvalidInput for an option out of range or a direction of zero.
///
/// \throw Cancelled
[[nodiscard]] ColumnCut cut_columns(const TriMesh& mesh, const Vec3& direction,
                                    const ColumnCutOptions& options = {},
                                    const RunContext& context = {});

}  // namespace cavigram
