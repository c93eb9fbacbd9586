// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// The space that two halves would lock along a pull, hollows that are closed all around included:
/// gap_volume_mm3 of the columns (locked_space.h) several times as fast, for a search.
///
/// The same columns as cut_columns has, but nothing is sorted: of each only the lowest and the
/// highest crossing are kept and the length inside, which is what the part leaves through less what
/// it enters through. Corners are rounded to 1/256 of a column across the pull, so that what covers
/// a column is settled in whole numbers and every column is entered as often as it is left.
///
/// O(triangles + crossings)
///
/// \pre closed, outward oriented; where shells overlap, what lies in both counts twice and is
/// missing from the gaps (see overlap_share); the pull is not zero; across from 1 to 2048
[[nodiscard]] double quick_gap_volume_mm3(const TriMesh& mesh, const Vec3& pull, int across);

/// The same for one mesh and many pulls. The mesh must outlive it.
class GapGlance {
  public:
    /// O(triangles)
    explicit GapGlance(const TriMesh& mesh);
    /// As quick_gap_volume_mm3, the very same number.
    [[nodiscard]] double gap_volume_mm3(const Vec3& pull, int across) const;

  private:
    const TriMesh* mesh_;
    std::vector<std::int32_t> used_;  // vertices that a triangle has
};

/// The share of a part that lies within itself more than once, or inside out, by the columns of the
/// three coordinate axes: the most of them. Above 0 quick_gap_volume_mm3 misses gaps.
///
/// O(triangles + crossings)
[[nodiscard]] double overlap_share(const TriMesh& mesh, int across);

}  // namespace cavigram
