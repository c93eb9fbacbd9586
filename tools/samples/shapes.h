// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/tri_mesh.h"

#include "isosurface.h"

namespace cavigram::samples {

// Signed distances (or close to them) of simple bodies, after the formulas of elementary geometry.
[[nodiscard]] double ball(const Vec3& p, const Vec3& center, double radius);
[[nodiscard]] double rounded_box(const Vec3& p, const Vec3& center, const Vec3& half_size,
                                 double rounding);
/// A rod from a to b whose radius goes from ra to rb, with round ends.
[[nodiscard]] double tapered_rod(const Vec3& p, const Vec3& a, const Vec3& b, double ra, double rb);
/// A ring around `axis` (unit) through `center`.
[[nodiscard]] double ring(const Vec3& p, const Vec3& center, const Vec3& axis, double ring_radius,
                          double tube_radius);
[[nodiscard]] double ellipsoid(const Vec3& p, const Vec3& center, const Vec3& half_axes);
/// Union with a fillet of about this radius.
[[nodiscard]] double blended(double a, double b, double fillet);

/// The parts of the harbor play, in mm.
[[nodiscard]] TriMesh mooring_cleat();
[[nodiscard]] TriMesh hand_lantern();
[[nodiscard]] Solid ships_bell();
[[nodiscard]] TriMesh rope_coil();
/// The carving as it is, and as a hand-held scanner would see it.
struct Scan {
    TriMesh truth;
    TriMesh scan;
};
[[nodiscard]] Scan figurehead();

}  // namespace cavigram::samples
