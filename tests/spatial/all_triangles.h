// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstdint>
#include <random>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

// The oracle: all triangles, one after the other.
inline NearestPoint brute_nearest(const TriMesh& mesh, const Vec3& p, double within) {
    NearestPoint best;
    double best2 = within * within;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const Vec3 q =
            closest_point_on_triangle(p, mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        const double d2 = (q - p).squaredNorm();
        if (d2 < best2 || (d2 == best2 && best.triangle < 0)) {
            best2 = d2;
            best = {static_cast<std::int32_t>(t), q, std::sqrt(d2)};
        }
    }
    return best;
}

// A tangle of random triangles, slivers and repeated ones among them; whole-number corners make
// ties.
inline TriMesh tangle(int count, std::uint32_t seed, bool whole) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> coordinate(-10.0, 10.0);
    std::uniform_real_distribution<double> offset(-2.0, 2.0);
    TriMesh mesh;
    for (int t = 0; t < count; ++t) {
        const Vec3 at(coordinate(random), coordinate(random), coordinate(random));
        const auto first = static_cast<std::int32_t>(mesh.vertices.size());
        for (int i = 0; i < 3; ++i) {
            Vec3 v = at + Vec3(offset(random), offset(random), offset(random));
            if (whole) {
                v = v.array().round();
            }
            mesh.vertices.push_back(t % 17 == 0 && i == 2 ? Vec3(0.5 * (mesh.vertices.end()[-1] +
                                                                        mesh.vertices.end()[-2]))
                                                          : v);
        }
        mesh.triangles.push_back({first, first + 1, first + 2});
        if (t % 23 == 0) {
            mesh.triangles.push_back({first, first + 1, first + 2});
        }
    }
    return mesh;
}

}  // namespace cavigram
