// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/repair/rims_detail.h"

namespace cavigram {

/// The surface around a hole carried on across it: the zero of a function that is 0 on the surface
/// and the signed distance just beside it.
///
/// Radial basis functions r^3 with a quadratic polynomial (Carr et al., "Reconstruction and
/// representation of 3D objects with radial basis functions", SIGGRAPH 2001) on about 140 places
/// within 0.6 rim radii of the rim, each with two more beside it; normals averaged over neighbors.
class Continuation {
  public:
    /// None if there is too little surface around. O(places^3 + surface near the rim).
    [[nodiscard]] static std::optional<Continuation> across(const TriMesh& mesh,
                                                            const CompressedRows& at,
                                                            const std::vector<std::int32_t>& rim);

    /// The point moved onto the zero along the gradient; none if that does not come to rest within
    /// a rim's radius.
    [[nodiscard]] std::optional<Vec3> settled(const Vec3& p) const;

  private:
    Vec3 center_ = Vec3::Zero();
    double radius_ = 1.0;
    std::vector<Vec3> places_;    // in radii about the center
    std::vector<double> weight_;  // of the places, then of the polynomial
};

/// How a patch and the range of its volume come from what the part itself shows.
struct LargePatch {
    double moved_mm3 = 0.0;  ///< By which the patch's volume changed.
    /// Root mean square error with which holes as large, cut for trial elsewhere into the part,
    /// are closed by continuation; negative if none could be cut.
    double trial_mm3 = -1.0;
    double doubt_mm3 = 0.0;  ///< Between the patch chosen and the pure continuation.
};

/// Moves the inner vertices of a faired patch toward the continuation: each way counts as much as
/// the other differs from it or from the truth of the trials. `first` is the patch's first own
/// vertex. None, and nothing moved, if the surface can't be carried on.
[[nodiscard]] std::optional<LargePatch> carry_on(TriMesh& mesh, const CompressedRows& at,
                                                 const Rim& rim, const std::vector<Triangle>& patch,
                                                 std::size_t first, double area_mm2,
                                                 const RunContext& context);

}  // namespace cavigram
