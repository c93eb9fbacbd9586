// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/venting/air_tree.h"

/// Pockets of air the other way: the height on a grid of cells, and GUDHI's persistence of its
/// cubical complex. For benchmarks that hold the air tree beside it.
namespace gudhi_side {

/// The part in cells.
struct AirGrid {
    std::vector<unsigned> cells;  ///< Along x, y, z.
    std::vector<double> value;    ///< Minus the height of the middle inside, far above all outside.
    double cell_mm = 0.0;         ///< Edge of a cell.
};

/// Cells whose middle lies within, `across` of them along the longest side.
[[nodiscard]] AirGrid air_grid(const cavigram::TriMesh& mesh_mm, const cavigram::Vec3& up,
                               int across);

/// How deep the deepest pockets below the highest are, deepest first: by persistence.
[[nodiscard]] std::vector<double> pocket_depths_mm(const AirGrid& grid);

/// The same by the air tree.
[[nodiscard]] std::vector<double> pocket_depths_mm(const cavigram::AirTree& tree);

}  // namespace gudhi_side
