// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// Largest coordinate, in file units, that is taken for a place on a part; triangles beyond it are
/// left out.
///
/// Even if the unit is the meter this is 1e12 mm, and products of six such lengths (the squared
/// norm of an inertia term, 1e72) stay far below the largest double, 1.8e308. A double still steps
/// by 1.2e-7 units there. No part reaches it: in millimeters it is 1000 km, so a larger number is
/// damage or uninitialized memory.
inline constexpr double kLargestCoordinate = 1e9;

/// Triangles as a file gives them. Promised: every index is in range, every coordinate is finite
/// and at most kLargestCoordinate, there is at least one triangle. Nothing is promised about holes,
/// orientation or repeated vertices.
struct Soup {
    TriMesh mesh;  ///< In the file's own units, z up where the format states an up axis; corners
                   ///< welded only where the file does.
    std::string
        format;  ///< "stl-binary", "stl-ascii", "obj", "ply", "off", "gltf", "glb", "3mf", ...
    std::size_t triangles_in_file =
        0;  ///< Before any were left out; polygons count as the triangles that they were cut into.
    std::optional<double>
        unit_mm;  ///< Millimeters per file unit, if the format or the file states it.
    std::size_t dropped_nonfinite = 0;  ///< Triangles left out because a corner is NaN or infinite.
    std::size_t dropped_out_of_range =
        0;  ///< Triangles left out because a corner lies beyond kLargestCoordinate.
    std::vector<Finding>
        findings;  ///< What was noticed while reading. Their places are in file units.
};

}  // namespace cavigram
