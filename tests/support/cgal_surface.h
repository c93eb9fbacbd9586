// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Surface_mesh.h>

#include "cavigram/mesh/tri_mesh.h"

/// CGAL's own form of a mesh, for tests and benchmarks that hold ours beside it. For those that
/// link CGAL only.
namespace cgal_side {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;

/// \pre edge-manifold and oriented: CGAL takes no other face.
[[nodiscard]] inline Surface surface_of(const cavigram::TriMesh& mesh) {
    Surface surface;
    for (const cavigram::Vec3& p : mesh.vertices) {
        surface.add_vertex(Kernel::Point_3(p.x(), p.y(), p.z()));
    }
    for (const cavigram::Triangle& t : mesh.triangles) {
        const auto vertex = [&](std::size_t i) {
            return Surface::Vertex_index(static_cast<Surface::size_type>(t[i]));
        };
        surface.add_face(vertex(0), vertex(1), vertex(2));
    }
    return surface;
}

}  // namespace cgal_side
