// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstddef>
#include <numbers>
#include <vector>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram::detail {

// draft(mesh, pull, limit_deg).steep_share(), the very same number, for one mesh and many pulls:
// what does not depend on the pull is kept.
class SteepWalls {
  public:
    SteepWalls() = default;
    SteepWalls(const TriMesh& mesh_mm, double limit_deg)
        : limit_(std::sin(limit_deg * std::numbers::pi / 180.0)) {
        area_mm2_.reserve(mesh_mm.triangles.size());
        size_mm2_.reserve(mesh_mm.triangles.size());
        for (std::size_t t = 0; t < mesh_mm.triangles.size(); ++t) {
            area_mm2_.push_back(0.5 * double_area_vector(mesh_mm.corner(t, 0), mesh_mm.corner(t, 1),
                                                         mesh_mm.corner(t, 2)));
            size_mm2_.push_back(area_mm2_.back().norm());
            all_mm2_ += size_mm2_.back();
        }
    }

    [[nodiscard]] double share(const Vec3& pull) const {
        const Vec3 along = pull.normalized();
        double steep_mm2 = 0.0;
        for (std::size_t t = 0; t < area_mm2_.size(); ++t) {
            const bool steep = std::abs(area_mm2_[t].dot(along)) < limit_ * size_mm2_[t];
            steep_mm2 += steep ? size_mm2_[t] : 0.0;
        }
        return all_mm2_ > 0.0 ? steep_mm2 / all_mm2_ : 0.0;
    }

  private:
    double limit_ = 0.0;
    double all_mm2_ = 0.0;
    std::vector<Vec3> area_mm2_;
    std::vector<double> size_mm2_;
};

}  // namespace cavigram::detail
