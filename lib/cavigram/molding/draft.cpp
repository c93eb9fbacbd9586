// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/draft.h"

#include <cmath>
#include <numbers>

#include "cavigram/geom/triangle.h"

namespace cavigram {

Draft draft(const TriMesh& mesh_mm, const Vec3& pull, double limit_deg) {
    const Vec3 along = pull.normalized();
    const double limit = std::sin(limit_deg * std::numbers::pi / 180.0);
    Draft result;
    result.limit_deg = limit_deg;
    for (std::size_t t = 0; t < mesh_mm.triangles.size(); ++t) {
        const Vec3 area = 0.5 * double_area_vector(mesh_mm.corner(t, 0), mesh_mm.corner(t, 1),
                                                   mesh_mm.corner(t, 2));
        const double size = area.norm();
        result.area_mm2 += size;
        result.steep_mm2 += std::abs(area.dot(along)) < limit * size ? size : 0.0;
    }
    return result;
}

double draft_offset_mm(double angle_deg, double length_mm) {
    return length_mm * std::tan(angle_deg * std::numbers::pi / 180.0);
}

}  // namespace cavigram
