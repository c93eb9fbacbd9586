// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"
#include "cavigram/venting/pockets.h"

namespace cavigram {

/// Which necks are closed, and how finely they are looked for.
struct NeckOptions {
    /// Where the solid is narrower than this, foam and air count as stopped. A guess (common
    /// practice, no source): foam that is about to set bridges gaps of a few millimeters.
    double width_mm = 3.0;
    /// Columns along the longer side of the part, seen along the direction, 2 to 2048. Whether a
    /// neck is open is told to about their spacing.
    int columns = 128;
};

/// Air that a closed neck holds back.
struct HeldBack {
    Vec3 peak_mm = Vec3::Zero();  ///< Its highest place, on a column.
    double volume_mm3 = 0.0;      ///< Air that stays here and would leave if necks were open.
};

/// What narrow necks do to the air, by upright columns.
struct NarrowNecks {
    NeckOptions options;              ///< What they were looked for with.
    double spacing_mm = 0.0;          ///< Of the columns.
    double open_mm3 = 0.0;            ///< Air that stays when every neck is open.
    double closed_mm3 = 0.0;          ///< And when those narrower than the width are closed.
    double only_narrow_mm3 = 0.0;     ///< Volume of pieces that are nowhere as wide as that.
    std::vector<HeldBack> held_back;  ///< Largest first; 0.5 % of the difference or more each.
    /// What closing the necks keeps more.
    [[nodiscard]] double more_mm3() const { return closed_mm3 - open_mm3; }
};

/// The air that stays with narrow necks open and with them closed, for one way up and given
/// openings.
///
/// Upright columns cut the solid into stretches, and these are cut again where they pass through
/// space that lies deeper than half the width. Closed means: two deep stretches are connected only
/// through space that is that deep, and each shallow stretch belongs to its nearest deep one and
/// connects nothing else. Both runs use the same columns, so most of the columns' error cancels in
/// the difference. The level is the same everywhere, as in air_pockets. Fewer links never let more
/// air out, so the difference is not negative. `surface` is the index of `mesh_mm`.
///
/// \pre closed
///
/// \throw InvalidInput for an option out of range; Cancelled
///
/// O(columns^2 * depth searches); a second or so.
[[nodiscard]] NarrowNecks narrow_necks(const TriMesh& mesh_mm, const TriangleBvh& surface,
                                       const Vec3& up, std::span<const Opening> openings,
                                       const NeckOptions& options = {},
                                       const RunContext& context = {});

}  // namespace cavigram
