// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/channels.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

namespace cavigram {

double Channel::volume_mm3() const {
    return std::numbers::pi / 4.0 * width_mm * width_mm * length_mm;
}

double shell_length_mm(const TriangleBvh& surface, const Vec3& from_mm, const Vec3& direction,
                       double thickness_mm) {
    const Vec3 along = direction.normalized();
    // Nothing is farther from the part's box than this along the hole.
    const double most = surface.bounds_mm().diagonal().norm() + 2.0 * thickness_mm;
    const double close = 1e-4 * thickness_mm;
    double length = 0.0;
    std::int32_t hint = -1;
    while (length < most) {
        const Vec3 at = from_mm + length * along;
        const NearestPoint nearest =
            surface.nearest(at, std::numeric_limits<double>::infinity(), hint);
        hint = nearest.triangle;
        const double left = thickness_mm - nearest.distance_mm;
        if (left > close) {
            length += left;
        } else if (surface.inside(at)) {
            length += std::max(nearest.distance_mm, close);  // an overhang of the part itself
        } else {
            break;
        }
    }
    return length;
}

double block_length_mm(const TriMesh& mesh_mm, const Vec3& from_mm, const Vec3& direction,
                       double thickness_mm) {
    const Vec3 along = direction.normalized();
    double farthest = along.dot(from_mm);
    for (const Triangle& t : mesh_mm.triangles) {
        for (const std::int32_t v : t) {
            farthest = std::max(farthest, along.dot(mesh_mm.vertices[static_cast<std::size_t>(v)]));
        }
    }
    return farthest - along.dot(from_mm) + thickness_mm;
}

}  // namespace cavigram
