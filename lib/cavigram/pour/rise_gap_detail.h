// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/measure/thickness.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/pour/rise_grid.h"

namespace cavigram::detail {

/// Fills in gap and permeability of a grid's cells. \pre the grid has place, volume and neighbor
void find_gaps(RiseGrid& grid, const TriMesh& mesh, const ThicknessMap& thickness);

/// Conductances from permeabilities and open shares: the harmonic mean of the two cells' K.
void find_conductances(RiseGrid& grid);

}  // namespace cavigram::detail
