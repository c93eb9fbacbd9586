// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// The edges of a mesh that have a triangle on one side only.
class BorderSides {
  public:
    /// Keeps references to both.
    BorderSides(const TriMesh& mesh, const Adjacency& adjacent)
        : mesh_(mesh), adjacent_(adjacent), slack_mm_(1e-9 * bounds(mesh).diagonal().norm()) {}

    /// Whether a nearest point lies on such an edge: what it is nearest to looks over a hole.
    [[nodiscard]] bool holds(const NearestPoint& near) const {
        if (near.triangle < 0) {
            return false;
        }
        const auto t = static_cast<std::size_t>(near.triangle);
        for (int i = 0; i < 3; ++i) {
            if (adjacent_.twin[3 * t + static_cast<std::size_t>(i)] >= 0) {
                continue;
            }
            const Vec3& a = mesh_.corner(t, i);
            const Vec3 side = mesh_.corner(t, (i + 1) % 3) - a;
            if (side.cross(near.point_mm - a).norm() <= slack_mm_ * side.norm()) {
                return true;
            }
        }
        return false;
    }

  private:
    const TriMesh& mesh_;
    const Adjacency& adjacent_;
    double slack_mm_;
};

}  // namespace cavigram
