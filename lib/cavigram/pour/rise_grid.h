// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/vector.h"
#include "cavigram/measure/thickness.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// The three indices of a cell.
using CellPlace = std::array<std::int32_t, 3>;

/// A cavity cut into cubes, of which only those with cavity in them are kept. A cell that a wall
/// cuts has the volume, and its faces the openings, that are left of them.
struct RiseGrid {
    Frame frame;                           ///< z is up.
    Vec3 corner_mm = Vec3::Zero();         ///< Lower corner, in the frame.
    double spacing_mm = 0.0;               ///< Edge of a cell.
    CellPlace count{};                     ///< Cells along x, y and z of the box around them.
    std::vector<CellPlace> place;          ///< Of each cell; z slowest, x fastest.
    std::vector<double> volume_mm3;        ///< Of the cavity in each cell.
    std::vector<double> gap_mm;            ///< The widest ball that fits there.
    std::vector<double> permeability_mm2;  ///< Of each cell, from that gap.
    std::vector<std::array<std::int32_t, 6>> neighbor;   ///< Beyond -x, +x, -y, +y, -z, +z; or -1.
    std::vector<std::array<double, 3>> conductance_mm3;  ///< K A/spacing, toward +x, +y, +z.
    std::vector<std::array<double, 3>> open_share;       ///< Of the faces toward +x, +y, +z.
    double left_out_mm3 = 0.0;  ///< Cavity in slivers of cells, spread over the others.

    /// How many cells there are.
    [[nodiscard]] std::size_t size() const { return place.size(); }
    /// The middle of a cell, in the part's coordinates.
    [[nodiscard]] Vec3 center_mm(std::size_t cell) const;
    /// Height of the middle of a cell, along up from the origin.
    [[nodiscard]] double height_mm(std::size_t cell) const {
        return corner_mm.z() + (place[cell][2] + 0.5) * spacing_mm;
    }
    /// Of all cells. O(n)
    [[nodiscard]] double total_mm3() const;
};

/// Finds cells by place: a table of the box around them.
class CellFinder {
  public:
    /// O(box)
    explicit CellFinder(const RiseGrid& grid);
    /// The cell of these indices; -1 where there is none.
    [[nodiscard]] std::int32_t at(const CellPlace& place) const;
    /// The cell nearest to a point of the part, its own where there is one; -1 if none is within
    /// `reach` cells.
    [[nodiscard]] std::int32_t nearest(const Vec3& point_mm, int reach = 4) const;

  private:
    const RiseGrid& grid_;
    std::vector<std::int32_t> cell_;
};

/// A box of voxels, as a shape to be filled is written down by hand. x runs fastest.
struct RiseVoxels {
    CellPlace count{};          ///< Voxels along x, y and z.
    double spacing_mm = 1.0;    ///< Edge of a voxel.
    std::vector<double> share;  ///< Of each voxel that is cavity; 0: none. Empty: all of each.
    std::vector<double> permeability_mm2;  ///< Of each voxel.
    /// Of the face toward +x, +y, +z of each voxel that is open. Empty: the smaller of the two
    /// shares.
    std::vector<std::array<double, 3>> open_share;
    Vec3 corner_mm = Vec3::Zero();  ///< Lower corner.
};

/// The grid of a box of voxels; z is up. O(voxels)
///
/// \throw InvalidInput for arrays of another size than the box
[[nodiscard]] RiseGrid voxel_grid(const RiseVoxels& voxels);

/// How finely a part is cut.
struct RiseGridOptions {
    /// Cells with cavity in them, about; 1,000 to 8 million.
    std::size_t cells = 60'000;
};

/// Cuts a part's cavity into cells.
///
/// Shares of cells and faces from upright columns (cavity/columns.h), exact along up; across, some
/// eight columns stand in the thinnest walls, so that a wall thinner than a cell still holds and
/// passes foam as wide as it is. The gap of a cell is the diameter of the largest of the thickness
/// map's balls that reaches into it, and its permeability that of local_permeability_mm2 with walls
/// and volume counted in a window of some gaps around. Volumes are scaled to the mesh's own.
///
/// O(triangles + box + samples x balls' cells)
///
/// \pre closed; `thickness` belongs to `mesh`
///
/// \throw InvalidInput for options out of range. \throw Cancelled
[[nodiscard]] RiseGrid rise_grid(const TriMesh& mesh, const Vec3& up, const ThicknessMap& thickness,
                                 double volume_mm3, const RiseGridOptions& options = {},
                                 const RunContext& context = {});

}  // namespace cavigram
