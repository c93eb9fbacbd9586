// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/footing.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "cavigram/core/error.h"
#include "cavigram/geom/convex_hull.h"
#include "cavigram/geom/directions.h"

namespace cavigram {

namespace {

double cross(const Vec2& a, const Vec2& b) {
    return a.x() * b.y() - a.y() * b.x();
}

double area_of(const std::vector<Vec2>& hull) {
    double twice = 0.0;
    for (std::size_t i = 1; i + 1 < hull.size(); ++i) {
        twice += cross(hull[i] - hull[0], hull[i + 1] - hull[0]);
    }
    return 0.5 * twice;
}

// Distance of a point from the hull's edges, positive inside.
double margin_of(const std::vector<Vec2>& hull, const Vec2& p) {
    if (hull.size() == 1) {
        return -(p - hull[0]).norm();
    }
    bool inside = hull.size() > 2;
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < hull.size(); ++i) {
        const Vec2& a = hull[i];
        const Vec2 edge = hull[(i + 1) % hull.size()] - a;
        inside = inside && cross(edge, p - a) > 0.0;
        const double share = std::clamp((p - a).dot(edge) / edge.squaredNorm(), 0.0, 1.0);
        nearest = std::min(nearest, (p - a - share * edge).norm());
    }
    return inside ? nearest : -nearest;
}

}  // namespace

Footing footing(const TriMesh& mesh_mm, const Vec3& up, const Vec3& center_mm, double level_mm) {
    CAVIGRAM_ASSERT(!mesh_mm.triangles.empty() && level_mm >= 0.0);
    const Frame frame = frame_along(up);
    std::vector<Vec3> local;
    local.reserve(mesh_mm.vertices.size());
    std::vector<char> seen(mesh_mm.vertices.size(), 0);
    double lowest = std::numeric_limits<double>::infinity();
    for (const Triangle& t : mesh_mm.triangles) {
        for (const std::int32_t v : t) {
            char& mark = seen[static_cast<std::size_t>(v)];
            if (mark == 0) {
                mark = 1;
                local.push_back(frame.local(mesh_mm.vertices[static_cast<std::size_t>(v)]));
                lowest = std::min(lowest, local.back().z());
            }
        }
    }
    std::vector<Vec2> all;
    std::vector<Vec2> low;
    for (const Vec3& p : local) {
        all.emplace_back(p.head<2>());
        if (p.z() <= lowest + level_mm) {
            low.emplace_back(p.head<2>());
        }
    }
    Footing result;
    const std::vector<Vec2> foot = convex_hull(std::move(low));
    result.foot_mm2 = area_of(foot);
    result.margin_mm = margin_of(foot, frame.local(center_mm).head<2>());
    const std::vector<Vec2> hull = convex_hull(std::move(all));
    result.block_mm2 = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < hull.size(); ++i) {
        const Vec2 x = (hull[(i + 1) % hull.size()] - hull[i]).normalized();
        const Vec2 y(-x.y(), x.x());
        Vec2 least = Vec2::Constant(std::numeric_limits<double>::infinity());
        Vec2 most = -least;
        for (const Vec2& p : hull) {
            const Vec2 q(x.dot(p), y.dot(p));
            least = least.cwiseMin(q);
            most = most.cwiseMax(q);
        }
        const Vec2 size = most - least;
        if (size.x() * size.y() < result.block_mm2) {
            result.block_mm2 = size.x() * size.y();
            result.block_length_mm = size.maxCoeff();
            result.block_width_mm = size.minCoeff();
        }
    }
    return result;
}

}  // namespace cavigram
