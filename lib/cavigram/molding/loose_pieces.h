// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <vector>

#include "cavigram/cavity/columns.h"
#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/molding/locked_space.h"
#include "cavigram/molding/parting.h"
#include "cavigram/molding/release_stretch.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// A piece of the mold beside both halves, for rubber that neither could be drawn off with.
struct LoosePiece {
    std::size_t pocket = 0;           ///< Index in LockedSpace::pockets: which rubber it is.
    std::vector<std::int32_t> faces;  ///< Of the part, that it touches; rising.
    Vec3 at_mm = Vec3::Zero();        ///< The pocket's innermost place.
    std::string where;                ///< By ruler; with split_mold.
    Vec3 size_mm = Vec3::Zero();      ///< Of the box around those faces, along x, y and z.
    double volume_mm3 = 0.0;    ///< Of the pocket; its outer wall, keys and handle are beyond.
    double area_mm2 = 0.0;      ///< Of those faces.
    double line_mm = 0.0;       ///< Of their border: a parting line more.
    Vec3 pull = Vec3::UnitZ();  ///< Unit; its way off, once both halves are off.
    double free_share = 0.0;    ///< Of its faces, from which nothing bars that way.
};

/// Loose pieces, and what the halves take with them.
struct LoosePieces {
    std::vector<LoosePiece> pieces;  ///< In the order in which they helped most; at most three.
    double stretch = 0.0;            ///< Most that the halves' rubber must stretch beside them.
    int slits = 0;                   ///< That the halves take beside them.
};

/// What is looked for.
struct LoosePieceOptions {
    double stretch_limit = 0.5;   ///< As SplitOptions.
    double far_mm = 0.0;          ///< Rubber farther behind the part can't be drawn out at all.
    std::size_t most_pieces = 3;  ///< A mold of more than five parts is not proposed. A guess.
    std::size_t most_tried = 6;   ///< So many pockets are tried for each.
    double least_mm3 = 0.0;       ///< Smaller pockets are not.
};

/// Which pockets of locked space to make pieces of their own of, so that both halves come off:
/// greedily, the pocket that leaves the fewest slits, then the least stretch beyond the limit, as
/// long as one helps.
///
/// A piece touches the faces that look into its pocket, with a border straightened by a minimum cut
/// (least_cut). What the halves then take: the stretch of the other pockets, a slit for each of
/// these that closes around the part, and those of what is left of the halves' patches, where a
/// border with the piece alone counts neither as a loop around the patch nor as a hole. The piece's
/// own way off is the one of about 200 directions along which the most of its surface is free to
/// leave the part, by rays; axes win ties.
///
/// Not computed: whether the piece can be cast and set into the halves, its keys, its own stretch
/// where its way off is not free, and whether two pieces bar each other.
///
/// O(pockets tried * triangles)
///
/// \pre `index` and `parting` are of the surface's mesh (but for what it was bridged by), `cut`,
/// `space` and `stretch` along the parting's pull
///
/// \throw Cancelled
[[nodiscard]] LoosePieces loose_pieces(const PartingSurface& surface, const TriangleBvh& index,
                                       const Parting& parting, const ColumnCut& cut,
                                       const LockedSpace& space, const ReleaseStretch& stretch,
                                       const LoosePieceOptions& options = {},
                                       const RunContext& context = {});

}  // namespace cavigram
