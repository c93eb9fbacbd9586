// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/tri_mesh.h"

#include <utility>

#include "cavigram/core/error.h"

namespace cavigram {

Box3 bounds(const TriMesh& mesh) {
    Box3 box;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        // The corners' box first: three comparisons in a row would have to wait for each other.
        const Vec3& a = mesh.corner(t, 0);
        const Vec3& b = mesh.corner(t, 1);
        const Vec3& c = mesh.corner(t, 2);
        box.min() = box.min().cwiseMin(a.cwiseMin(b.cwiseMin(c)));
        box.max() = box.max().cwiseMax(a.cwiseMax(b.cwiseMax(c)));
    }
    return box;
}

TriMesh flipped(TriMesh mesh) {
    for (Triangle& triangle : mesh.triangles) {
        std::swap(triangle[1], triangle[2]);
    }
    return mesh;
}

TriMesh transformed(TriMesh mesh, double factor, const Vec3& shift_mm) {
    CAVIGRAM_ASSERT(factor != 0.0);
    for (Vec3& v : mesh.vertices) {
        v = factor * v + shift_mm;
    }
    return factor < 0.0 ? flipped(std::move(mesh)) : mesh;
}

TriMesh rotated(TriMesh mesh, const Mat3& rotation) {
    for (Vec3& v : mesh.vertices) {
        v = (rotation * v).eval();
    }
    return mesh;
}

TriMesh joined(TriMesh first, const TriMesh& second) {
    const auto offset = static_cast<std::int32_t>(first.vertices.size());
    first.vertices.insert(first.vertices.end(), second.vertices.begin(), second.vertices.end());
    first.triangles.reserve(first.triangles.size() + second.triangles.size());
    for (const Triangle& t : second.triangles) {
        first.triangles.push_back({t[0] + offset, t[1] + offset, t[2] + offset});
    }
    return first;
}

}  // namespace cavigram
