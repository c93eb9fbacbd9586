// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstdint>
#include <functional>
#include <random>

#include "cavigram/mesh/tri_mesh.h"

/// Seeded harm to a sound mesh, the way scanners and exporters do it.
namespace damage {

/// Every triangle with corners of its own, as in an STL file.
inline cavigram::TriMesh exploded(const cavigram::TriMesh& mesh) {
    cavigram::TriMesh soup;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (int i = 0; i < 3; ++i) {
            soup.vertices.push_back(mesh.corner(t, i));
        }
        const auto v = static_cast<std::int32_t>(3 * t);
        soup.triangles.push_back({v, v + 1, v + 2});
    }
    return soup;
}

/// Without the triangles for which `gone(center)` holds.
inline cavigram::TriMesh holed(const cavigram::TriMesh& mesh,
                               const std::function<bool(const cavigram::Vec3&)>& gone) {
    cavigram::TriMesh open;
    open.vertices = mesh.vertices;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (!gone((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0)) {
            open.triangles.push_back(mesh.triangles[t]);
        }
    }
    return open;
}

/// With the triangles for which `turn(center)` holds turned over.
inline cavigram::TriMesh part_flipped(cavigram::TriMesh mesh,
                                      const std::function<bool(const cavigram::Vec3&)>& turn) {
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (turn((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0)) {
            std::swap(mesh.triangles[t][1], mesh.triangles[t][2]);
        }
    }
    return mesh;
}

/// Each corner of each triangle moved by up to `reach` on its own: every edge becomes a crack.
inline cavigram::TriMesh cracked(const cavigram::TriMesh& mesh, double reach, unsigned seed) {
    std::mt19937 random(seed);
    std::uniform_real_distribution<double> shift(-reach, reach);
    cavigram::TriMesh soup = exploded(mesh);
    for (cavigram::Vec3& v : soup.vertices) {
        v += cavigram::Vec3(shift(random), shift(random), shift(random));
    }
    return soup;
}

}  // namespace damage
