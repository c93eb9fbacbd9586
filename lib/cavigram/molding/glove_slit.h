// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/venting/show_side.h"

namespace cavigram {

/// Where a mold of one piece is cut open, as a line on the part's surface.
struct GloveSlit {
    std::vector<Vec3> points_mm;  ///< Along edges, from the rim of the open side inward.
    double length_mm = 0.0;       ///< Along the surface.
    double show_share = 0.0;      ///< Of that length, on the show side.
};

/// The shortest cut that opens a glove from its rim up to a height: beyond it nothing holds the
/// rubber, and below it a ring of rubber that is cut through need not stretch. On the show side,
/// where the seam of the slit leaves its mark on every casting, a length counts as ten times
/// itself (a guess).
///
/// A shortest way along edges (Dijkstra, Numer. Math. 1 (1959) 269): longer than that across faces
/// by up to a tenth or so on an even mesh.
///
/// O(n log n)
///
/// \return none where no edges lead from the open side to that height, or the rim lies that high
///
/// \pre the mesh is closed; `away` is a unit, the way the glove comes off; heights along it from
/// the origin
[[nodiscard]] std::optional<GloveSlit> glove_slit(const TriMesh& mesh_mm, const Vec3& away,
                                                  double rim_mm, double up_to_mm,
                                                  const std::optional<ShowSide>& show = {});

}  // namespace cavigram
