// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/side_view.h"

#include <algorithm>
#include <cstdint>
#include <limits>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"

namespace cavigram {

namespace {

// Faces that lean more than this against a ray are passed by it for sure.
constexpr double kFacing = 0.05;

// A ray from a hair outside a face.
struct Way {
    Vec3 from;
    Vec3 way;
    double facing = 0.0;     // cosine between the way and the face's normal
    std::int32_t face = -1;  // from which it starts
};

// Length within the part along a ray that starts outside it.
double blocked_mm(const TriangleBvh& surface, const Way& ray, double hair_mm, double most_mm) {
    const double past_mm = 1e-4 * hair_mm;  // beyond the edge that two triangles share
    double sum = 0.0;
    int winding = 0;
    RayLimits limits;
    double entered = 0.0;
    if (ray.facing < -kFacing) {
        // Into the part through its own face: that hit need not be looked for.
        winding = 1;
        entered = -hair_mm / ray.facing;
        limits.t_min = entered + past_mm;
        limits.skip_triangle = ray.face;
    }
    for (;;) {
        // What lies beyond does not count: within the part the way ends there.
        limits.t_max =
            winding > 0 ? entered + most_mm - sum : std::numeric_limits<double>::infinity();
        const RayHit hit = surface.first_hit(ray.from, ray.way, limits);
        if (hit.triangle < 0) {
            return winding > 0 ? most_mm : std::min(sum, most_mm);
        }
        if (hit.sign < 0 && winding++ == 0) {
            entered = hit.t;
        }
        // A ray that starts within another shell leaves more often than it enters.
        if (hit.sign > 0 && winding > 0 && --winding == 0) {
            sum += hit.t - entered;
        }
        if (sum >= most_mm) {
            return most_mm;
        }
        limits.t_min = hit.t + past_mm;
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
            const Vec3 normal = double_area_vector(a, b, c).stableNormalized();
            const Vec3 from = (a + b + c) / 3.0 + hair * normal;
            const double facing = way.dot(normal);
            const auto face = static_cast<std::int32_t>(t);
            views[t] = {blocked_mm(surface, {from, way, facing, face}, hair, most_mm),
                        blocked_mm(surface, {from, -way, -facing, face}, hair, most_mm)};
        }
    });
    return views;
}

}  // namespace cavigram
