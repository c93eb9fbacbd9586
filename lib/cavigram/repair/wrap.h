// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// A closed surface stretched around a soup of triangles.
struct Wrap {
    TriMesh mesh;                 ///< Closed, crossing itself nowhere that the wrap did not.
    double alpha_mm = 0.0;        ///< Gaps narrower than this were bridged.
    double offset_mm = 0.0;       ///< How far off the input the wrap first lay.
    double raw_volume_mm3 = 0.0;  ///< Of the wrap before it was brought back onto the input: the
                                  ///< input lies within it, so an upper bound.
    double volume_mm3 = 0.0;      ///< That it holds.
    double invented_mm2 = 0.0;    ///< Area that has no input surface beneath it.
    /// Beneath that area down to the input: what the wrap may have filled.
    double bridged_mm3 = 0.0;
    double volume_below_mm3 = 0.0;  ///< By how much the true volume could be less.
    double volume_above_mm3 = 0.0;  ///< By how much the true volume could be more.
};

/// Wraps the triangles (Portaneri et al., "Alpha wrapping with an offset", 2022, by CGAL), then
/// brings each vertex onto the input.
///
/// alpha, the widest gap that it bridges, is twice the median edge, but no more than 1 % of the
/// diagonal nor half of the part's thinnest place (the hundredth part of rays from the surface
/// inward that are shortest), and no less than what keeps the wrap within 150,000 triangles; the
/// offset is alpha/30. The wrap lies outside by about its offset; each vertex therefore moves to
/// the nearest input point if that is within 1.5 offsets along its normal, by half as far again and
/// again where triangles would then cross. Area whose vertices stayed is invented. The range of the
/// volume: above up to the raw wrap, which holds all of the input; below as far, and by what lies
/// between invented area and the input beneath it. None if the range would reach down to half of
/// the volume, or if the wrap has less than 0.9 of the volume that `solid_volume_mm3` (by winding
/// numbers) says: it then went in through a gap.
///
/// \pre triangles not empty; holes closed as far as they can be
[[nodiscard]] std::optional<Wrap> wrap_around(const TriMesh& mesh, double solid_volume_mm3,
                                              const RunContext& context = {});

/// Volume of where the winding number is at least one half: what open or tangled triangles hold, by
/// 1000 points of a fixed seed in their box; good to some 3 % of the box. O(n) for each point;
/// above 50,000 triangles the far ones are not needed one by one, so every k-th with k times its
/// weight.
[[nodiscard]] double winding_volume_mm3(const TriMesh& mesh, const RunContext& context = {});

}  // namespace cavigram
