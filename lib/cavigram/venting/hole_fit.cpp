// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/hole_fit.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/geom/directions.h"

namespace cavigram {

namespace {

constexpr int kRim = 24;

// Whether the part lies beneath the whole rim of a hole bored along -axis.z.
bool carries(const TriangleBvh& surface, const Vec3& place, const Frame& axis, double radius) {
    const double above = 2.0 * radius;  // the surface may rise toward one side, too
    for (int k = 0; k < kRim; ++k) {
        const double angle = 2.0 * std::numbers::pi * k / kRim;
        const Vec3 rim = place + radius * (std::cos(angle) * axis.x + std::sin(angle) * axis.y);
        const RayHit hit =
            surface.first_hit(rim + above * axis.z, -axis.z, {.t_max = above + 2.0 * radius});
        if (hit.triangle < 0) {
            return false;
        }
    }
    return true;
}

double widest_along(const TriangleBvh& surface, const Vec3& place, const Vec3& direction,
                    const HoleFitOptions& options) {
    const Frame axis = frame_along(direction);
    double widest = 0.0;
    for (int step = 1; step * options.step_mm <= options.most_mm; ++step) {
        const double width = step * options.step_mm;
        if (!carries(surface, place, axis, 0.5 * width)) {
            break;
        }
        widest = width;
    }
    return widest;
}

Vec3 normal_of(const TriMesh& mesh, std::int32_t triangle) {
    const auto t = static_cast<std::size_t>(triangle);
    return (mesh.corner(t, 1) - mesh.corner(t, 0)).cross(mesh.corner(t, 2) - mesh.corner(t, 0));
}

}  // namespace

double widest_hole_mm(const AirTreeBuilder& solid, const Vec3& place_mm, const Vec3& up,
                      const HoleFitOptions& options) {
    CAVIGRAM_ASSERT(options.most_mm > 0.0 && options.step_mm > 0.0);
    const NearestPoint nearest = solid.bvh().nearest(place_mm);
    const Vec3 normal = normal_of(solid.mesh(), nearest.triangle);
    const double along_up = widest_along(solid.bvh(), nearest.point_mm, up, options);
    return normal.isZero(0.0)
               ? along_up
               : std::max(along_up, widest_along(solid.bvh(), nearest.point_mm, normal, options));
}

}  // namespace cavigram
