// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// A closed surface with what a parting of it is judged by.
struct PartingSurface {
    TriMesh mesh_mm;               ///< Closed, outward oriented, manifold.
    Adjacency adjacent;            ///< Of the mesh.
    Shells shells;                 ///< Of the mesh.
    std::vector<int> genus;        ///< Holes through each shell.
    std::vector<bool> hollow;      ///< Whether a shell bounds a hollow: no mold reaches it.
    std::vector<double> area_mm2;  ///< Of each shell.
};

/// Takes a closed mesh and counts holes. O(n). \pre closed, manifold
[[nodiscard]] PartingSurface parting_surface(TriMesh mesh_mm);

/// A closed piece of the parting line, seen from outside with the upper half on its left.
struct PartingLoop {
    std::vector<Vec3> points_mm;      ///< In order; the last is joined to the first.
    std::vector<std::int32_t> faces;  ///< The face at the piece from each point to the next.
    double length_mm = 0.0;           ///< Around.
    double area_mm2 = 0.0;   ///< Within it as seen along the pull; negative: it runs around a hole.
    double low_mm = 0.0;     ///< Its lowest height along the pull, from the origin.
    double high_mm = 0.0;    ///< Its highest.
    std::int32_t shell = 0;  ///< On which shell.
    std::int32_t upper_patch = 0;  ///< The patch on its left.
    std::int32_t lower_patch = 0;  ///< The patch on its right.
    /// Whether it runs around a hole through the part, in which the halves must meet (a shut-off).
    [[nodiscard]] bool through() const { return area_mm2 < 0.0; }
};

/// A connected piece of surface that one half touches.
struct PartingPatch {
    bool upper = false;      ///< Of the half on the side that the pull points to.
    std::int32_t shell = 0;  ///< On which shell.
    int outer = 0;           ///< Loops around it,
    int through = 0;         ///< loops around holes,
    int handles = 0;         ///< and handles of its own, around which rubber would be caught.
};

/// A parting line, and whether the halves that it makes come off.
struct PartingLine {
    std::vector<PartingLoop> loops;     ///< In the order of their first face.
    std::vector<PartingPatch> patches;  ///< Numbered by the loops.
    /// For each face, or each vertex where the line runs across faces, its patch.
    std::vector<std::int32_t> patch_of;
    bool valid = false;  ///< Each patch has one loop around it and no handle, and each hole its
                         ///< shut-off.
    int slits = 0;       ///< Cuts through the rubber that it takes otherwise.
    int wrapped = 0;     ///< Shells without a loop, which the rubber would wrap; hollows apart.
    int shut_offs = 0;   ///< Loops around holes.
};

/// The line between the faces of the upper half and those of the lower, along edges.
///
/// A parting is valid when each patch has exactly one outer loop and no handle, and the loops
/// around holes are as many as the holes: a ring that stands on its edge has genus + 1 loops too,
/// and is locked. O(n)
[[nodiscard]] PartingLine line_along_edges(const PartingSurface& surface,
                                           const std::vector<bool>& upper_face, const Vec3& pull);

/// The zero line of a field on the vertices, upper where it is not negative: straight across faces,
/// always closed and simple on the surface. O(n)
[[nodiscard]] PartingLine line_across_faces(const PartingSurface& surface,
                                            const std::vector<double>& field, const Vec3& pull);

/// A closed polyline with fewer points, none of those left out farther than the tolerance from it.
///
/// O(points log points), at worst O(points2). (Douglas & Peucker, Cartographica 10 (1973) 112.)
///
/// \pre tolerance_mm >= 0
[[nodiscard]] std::vector<Vec3> thinned_loop(const std::vector<Vec3>& points_mm,
                                             double tolerance_mm);

/// How far a place lies from a closed polyline. O(points)
///
/// \pre at least one point
[[nodiscard]] double distance_to_loop_mm(const Vec3& place_mm, const std::vector<Vec3>& loop_mm);

}  // namespace cavigram
