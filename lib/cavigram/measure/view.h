// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// A look at a part along parallel lines: three unit axes, each across the other two, right-handed
/// (right x up = toward).
struct View {
    Vec3 right = Vec3::UnitX();   ///< Unit.
    Vec3 up = Vec3::UnitY();      ///< Unit.
    Vec3 toward = Vec3::UnitZ();  ///< From the part to the eye.

    /// A point on the paper, in mm: to the right, and up.
    [[nodiscard]] Vec2 on_paper(const Vec3& p) const { return {right.dot(p), up.dot(p)}; }
    /// How near a point is to the eye, in mm; larger is nearer.
    [[nodiscard]] double nearness_mm(const Vec3& p) const { return toward.dot(p); }
};

/// The view from `toward` in which `up` points up the paper as well as it can. Where the two are
/// parallel, the coordinate axis that is most across takes the place of `up`.
///
/// \pre neither is zero; any length
[[nodiscard]] View view_from(const Vec3& toward, const Vec3& up);

/// Of the views across `up`, the one in which the part is widest, in steps of 5 degrees: the side
/// by which a person knows it. The eye is on the side of -y of the part, or of +x where that does
/// not tell.
///
/// O(36 n).
///
/// \pre up is not zero
[[nodiscard]] View widest_view(const TriMesh& mesh, const Vec3& up);

/// The view a quarter turn to the right around the paper's up: what was at the right is in front.
[[nodiscard]] View quarter_turned(const View& view);

}  // namespace cavigram
