// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>

#include "cavigram/mesh/tri_mesh.h"

namespace tubes {

/// A closed tube of radius `tube` along the figure eight x = size sin t, y = size sin t cos t: it
/// runs through itself once.
inline cavigram::TriMesh figure_eight(double size, double tube, int along, int around) {
    using cavigram::Vec3;
    cavigram::TriMesh mesh;
    for (int i = 0; i < along; ++i) {
        // Off the crossing by half a step, so that it is no corner of the mesh.
        const double t = 2.0 * std::numbers::pi * (i + 0.5) / along;
        const Vec3 center(size * std::sin(t), size * std::sin(t) * std::cos(t), 0.0);
        const Vec3 way = Vec3(std::cos(t), std::cos(2.0 * t), 0.0).normalized();
        const Vec3 side = Vec3::UnitZ().cross(way);
        for (int k = 0; k < around; ++k) {
            const double a = 2.0 * std::numbers::pi * k / around;
            mesh.vertices.emplace_back(center +
                                       tube * (std::cos(a) * side + std::sin(a) * Vec3::UnitZ()));
        }
    }
    const auto at = [&](int i, int k) {
        return static_cast<std::int32_t>((i % along) * around + k % around);
    };
    for (int i = 0; i < along; ++i) {
        for (int k = 0; k < around; ++k) {
            // At angle 0 the way around is z, and z x way = side, which looks outward.
            mesh.triangles.push_back({at(i, k), at(i + 1, k + 1), at(i + 1, k)});
            mesh.triangles.push_back({at(i, k), at(i, k + 1), at(i + 1, k + 1)});
        }
    }
    return mesh;
}

}  // namespace tubes
