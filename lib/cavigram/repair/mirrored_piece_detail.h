// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/repair/mirror_plane.h"
#include "cavigram/repair/rims_detail.h"

namespace cavigram {

/// A patch for a hole: the image of what lies across a mirror plane, and the strip that joins it to
/// the rim. Corners below the mesh's number of vertices are the mesh's, those from there on are
/// `vertices` in order.
struct MirroredPiece {
    std::vector<Vec3> vertices;
    std::vector<Triangle> triangles;
    double area_mm2 = 0.0;
    double volume_mm3 = 0.0;  ///< Between the patch and the middle of the rim.
    /// How far the image of the rim lies off the surface, and the image of the whole surface too:
    /// root mean square, both together.
    double residual_mm = 0.0;
    double agreeing_share = 0.0;        ///< Of the plane.
    Vec3 taken_from_mm = Vec3::Zero();  ///< The image of the rim's middle.
    /// By how much the volumes of the pieces through other planes lie below and above.
    double others_below_mm3 = 0.0;
    double others_above_mm3 = 0.0;
};

/// Finds pieces for holes in one open surface, whose mirror planes are looked for once.
class Mirroring {
  public:
    /// Keeps references to the mesh and to what belongs to it.
    ///
    /// \throw Cancelled
    Mirroring(const TriMesh& mesh, const Adjacency& adjacent, const RunContext& context);

    /// The piece across the plane through which the rim fits best. None if the surface is not its
    /// own mirror image, if the rim's image lies more than 0.6 % of the part's largest extent (or
    /// three times the surface's noise) off it or over the hole itself, or if what lies across is
    /// no disc. O(piece) nearest points for
    /// each plane.
    [[nodiscard]] std::optional<MirroredPiece> piece_for(const Rim& rim) const;

  private:
    [[nodiscard]] std::optional<MirroredPiece> across(const MirrorPlane& plane,
                                                      const Rim& rim) const;

    const TriMesh& mesh_;
    const Adjacency& adjacent_;
    TriangleBvh tree_;
    double extent_mm_ = 0.0;
    double noise_mm_ = 0.0;
    std::vector<MirrorPlane> planes_;
};

}  // namespace cavigram
