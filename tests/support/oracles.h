// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/tri_mesh.h"

/// What CGAL says of a mesh: independent of all code in lib. Slow to compile, so in a source of its
/// own (oracles.cpp).
namespace oracle {

/// Corners at the very same place made one, by sorting.
[[nodiscard]] cavigram::TriMesh welded(const cavigram::TriMesh& mesh);

/// All pairs, each tried with CGAL's exact predicates; smaller index first, sorted.
[[nodiscard]] std::vector<std::array<std::int32_t, 2>> crossing_pairs_one_by_one(
    const cavigram::TriMesh& mesh);
/// The same for large meshes: candidates by CGAL's box_self_intersection_d.
[[nodiscard]] std::vector<std::array<std::int32_t, 2>> crossing_pairs_by_boxes(
    const cavigram::TriMesh& mesh);
/// Which triangles have their corners exactly in line.
[[nodiscard]] std::vector<bool> is_degenerate(const cavigram::TriMesh& mesh);

/// The mesh can be a halfedge structure of CGAL's: edges and vertices manifold, neighbors agree.
[[nodiscard]] bool is_halfedge_mesh(const cavigram::TriMesh& mesh);
/// PMP::self_intersections, sorted. \pre is_halfedge_mesh
[[nodiscard]] std::vector<std::array<std::int32_t, 2>> cgal_self_intersections(
    const cavigram::TriMesh& mesh);
/// Closed, one halfedge structure. \pre is_halfedge_mesh
[[nodiscard]] bool cgal_is_closed(const cavigram::TriMesh& mesh);
/// PMP::volume. \pre closed
[[nodiscard]] double cgal_volume(const cavigram::TriMesh& mesh);
/// V - E + F.
[[nodiscard]] long euler_number(const cavigram::TriMesh& mesh);

}  // namespace oracle
