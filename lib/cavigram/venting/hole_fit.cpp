// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/hole_fit.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/triangle.h"

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

bool hole_fits(const AirTreeBuilder& solid, const Vec3& place_mm, const Vec3& up, double width_mm) {
    HoleFitOptions options;
    options.most_mm = width_mm;
    return widest_hole_mm(solid, place_mm, up, options) > width_mm - options.step_mm;
}

bool on_underside(const AirTreeBuilder& solid, const Vec3& place_mm, std::int32_t triangle,
                  const Vec3& up) {
    constexpr double kBelowLevel = -0.34202014332566873;  // sine of 20 degrees
    const TriMesh& mesh = solid.mesh();
    const double touch = 1e-6 * solid.bounds_mm().diagonal().norm();
    bool looks_up = false;
    const auto look = [&](const Vec3& a, const Vec3& b, const Vec3& c) {
        const Vec3 normal = (b - a).cross(c - a);
        const bool meets =
            (closest_point_on_triangle(place_mm, a, b, c) - place_mm).norm() <= touch;
        looks_up = looks_up || (meets && normal.dot(up) >= kBelowLevel * normal.norm() * up.norm());
    };
    for (const std::int32_t vertex : mesh.triangles[static_cast<std::size_t>(triangle)]) {
        const auto at = [&](std::int32_t v) { return mesh.vertices[static_cast<std::size_t>(v)]; };
        const auto ring = solid.around(vertex);
        for (std::size_t i = 0; i < ring.size(); ++i) {
            look(at(vertex), at(ring[i]), at(ring[(i + 1) % ring.size()]));
        }
    }
    return !looks_up;
}

}  // namespace cavigram
