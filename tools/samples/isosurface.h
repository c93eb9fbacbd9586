// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <functional>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram::samples {

/// A solid as the places where a function is negative; the function is near the distance to the
/// surface close to it.
using Field = std::function<double(const Vec3&)>;

/// The surface of a field within a box, as a closed, outward-oriented, manifold mesh.
///
/// Marching tetrahedra on a grid of cubes with edge `cell_mm`, each cut into six around one
/// diagonal (Payne & Toga, IEEE Comput. Graph. Appl. 10(5), 1990), so no case is ambiguous.
/// Vertices lie on the surface by bisection. \pre the surface lies inside the box
[[nodiscard]] TriMesh isosurface(const Field& field, const Box3& box, double cell_mm);

}  // namespace cavigram::samples
