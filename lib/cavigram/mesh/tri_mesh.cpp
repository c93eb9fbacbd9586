// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/mesh/tri_mesh.h"

#include <utility>

#include "cavigram/core/error.h"

namespace cavigram {

Box3 bounds(const TriMesh& mesh) {
    Box3 box;
    for (const Triangle& triangle : mesh.triangles) {
        for (const std::int32_t v : triangle) {
            box.extend(mesh.vertices[static_cast<std::size_t>(v)]);
        }
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
