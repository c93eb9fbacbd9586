// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/cracks.h"

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/mesh/weld.h"

#include "support/damage.h"
#include "support/near.h"

using namespace cavigram;

TEST_CASE(
    "a seam whose two sides differ by less than the reach is closed, and the bound holds the "
    "change") {
    const Solid sphere = sphere_solid(30, 48);
    TriMesh mesh = sphere.mesh;
    // Cut at the equator: the lower triangles get their own copies of the seam's vertices, moved a
    // hair.
    std::vector<std::int32_t> copy(mesh.vertices.size(), -1);
    const std::size_t before = mesh.vertices.size();
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const double z = (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)).z();
        for (std::int32_t& v : mesh.triangles[t]) {
            const auto k = static_cast<std::size_t>(v);
            if (z < 0 && k < before && std::abs(mesh.vertices[k].z()) < 1e-9) {
                if (copy[k] < 0) {
                    copy[k] = static_cast<std::int32_t>(mesh.vertices.size());
                    mesh.vertices.push_back(mesh.vertices[k] + Vec3(0.002, -0.001, 0.003));
                }
                v = copy[k];
            }
        }
    }
    REQUIRE(adjacency(mesh).border_halfedges == 96);
    const CrackClosing closing = close_cracks(mesh, 0.02);
    CHECK(closing.joined == 48);
    CHECK(adjacency(closing.mesh).closed());
    CHECK(std::abs(mass_properties(closing.mesh).volume_mm3 - sphere.volume_mm3) <=
          closing.volume_bound_mm3);
    CHECK(close_cracks(mesh, 0.001).joined == 0);
}

TEST_CASE(
    "two walls of a thin sheet are not glued: only borders count, and only against their edge "
    "length") {
    TriMesh wall = box_solid(100, 100, 0.01).mesh;
    CHECK(close_cracks(wall, 1.0).joined == 0);
    // A hole with a rim of short edges stays a hole.
    const TriMesh open =
        damage::holed(sphere_solid(30, 48).mesh, [](const Vec3& c) { return c.z() > 28; });
    CHECK(close_cracks(open, 5.0).joined == 0);
}
