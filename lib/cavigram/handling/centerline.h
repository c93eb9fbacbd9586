// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// How finely a part is looked at for its centerline.
struct CenterlineOptions {
    std::size_t cells = 40'000;  ///< About so many cubes fill the part.
    std::size_t elements = 60;   ///< At most so many pieces of line.
    /// A line that leaves the straight one between its ends by no more than this share of it is
    /// taken as straight.
    double straight_share = 0.05;
};

/// The line along which a part is long.
struct Centerline {
    std::vector<Vec3> nodes_mm;  ///< From end to end, two or more.
    bool straight = true;        ///< Along the long axis of its moments.
    double bow_mm = 0.0;         ///< Farthest that the middle of the part lies off a straight line.
    /// Of a curved line: what belongs to each piece, with all that hangs on it sideways. Adds up to
    /// the part's volume.
    std::vector<double> volume_mm3;
    std::vector<Vec3> centroid_mm;  ///< As volume_mm3.

    /// Along the nodes.
    [[nodiscard]] double length_mm() const;
};

/// The line along which a part is long: straight where it will do, else through the middles of
/// bands of equal distance within the part.
///
/// The part is filled with cubes; from the cube farthest away from its middle, distances within it
/// by fast marching (Sethian, Proc. Natl. Acad. Sci. 93 (1996) 1591); from the cube farthest from
/// that one the steepest way back names in each band the piece that lies on the line (level-set
/// skeletons: Lazarus & Verroust, Computer-Aided Geometric Design 16 (1999)). Pieces beside it are
/// side branches and hang on the band from which they grow. The straight axis is taken where the
/// line is straight enough, where two ways lead to the same place (rings), where bands are no
/// compact sections (shells, plates), where the part is stubby, and where it is in several pieces.
///
/// Deterministic. Some 0.1 s for the default.
///
/// \pre closed mesh of positive volume
///
/// \throw Cancelled
[[nodiscard]] Centerline centerline(const TriMesh& mesh, const MassProperties& mass,
                                    const CenterlineOptions& options = {},
                                    const RunContext& context = {});

}  // namespace cavigram
