// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/side_view.h"

#include <algorithm>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"

namespace cavigram {

namespace {

// Length within the part along a ray that starts outside it.
double blocked_mm(const TriangleBvh& surface, const Vec3& from, const Vec3& way, double hair_mm,
                  double most_mm) {
    double sum = 0.0;
    int winding = 0;
    RayLimits limits;
    double entered = 0.0;
    for (;;) {
        const RayHit hit = surface.first_hit(from, way, limits);
        if (hit.triangle < 0) {
            return std::min(sum, most_mm);
        }
        if (hit.sign < 0 && winding++ == 0) {
            entered = hit.t;
        }
        // A ray that starts within another shell leaves more often than it enters.
        if (hit.sign > 0 && winding > 0 && --winding == 0) {
            sum += hit.t - entered;
        }
        if (sum + (winding > 0 ? hit.t - entered : 0.0) >= most_mm) {
            return most_mm;
        }
        limits.t_min = hit.t + 1e-4 * hair_mm;  // past the edge that two triangles share
    }
}

}  // namespace

std::vector<SideView> side_views(const TriMesh& mesh_mm, const TriangleBvh& surface,
                                 const Vec3& pull, double most_mm, const RunContext& context) {
    const Vec3 way = pull.normalized();
    const double hair = 1e-5 * surface.bounds_mm().diagonal().norm();
    std::vector<SideView> views(mesh_mm.triangles.size());
    for_blocks(views.size(), 1024, context, [&](const Block& block) {
        for (std::size_t t = block.begin; t < block.end; ++t) {
            const Vec3& a = mesh_mm.corner(t, 0);
            const Vec3& b = mesh_mm.corner(t, 1);
            const Vec3& c = mesh_mm.corner(t, 2);
            const Vec3 from =
                (a + b + c) / 3.0 + hair * double_area_vector(a, b, c).stableNormalized();
            views[t] = {blocked_mm(surface, from, way, hair, most_mm),
                        blocked_mm(surface, from, -way, hair, most_mm)};
        }
    });
    return views;
}

}  // namespace cavigram
