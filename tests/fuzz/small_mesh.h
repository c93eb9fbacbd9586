// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <string>

#include "fuzz.h"

namespace fuzz {

/// A mesh of few bytes: how large, how many vertices, three coordinates each, then three corners a
/// triangle. Between 1 mm and 10 m, as prepare_part lets them through.
[[nodiscard]] inline cavigram::TriMesh small_mesh(Front& front) {
    static constexpr double kSteps_mm[] = {1.0, 0.1, 10.0, 1.0 / 3.0};
    const unsigned form = front.byte();
    const double step_mm = kSteps_mm[form % 4];
    // Off the grid by a hair, so that faces lie nearly in one plane.
    const double hair_mm = (form & 4U) != 0 ? 1e-9 : (form & 8U) != 0 ? 1e-4 : 0.0;
    const double away_mm = (form & 16U) != 0 ? 1e5 : 0.0;
    const unsigned count = 3 + front.byte() % 62;
    cavigram::TriMesh mesh;
    for (unsigned i = 0; i < count; ++i) {
        cavigram::Vec3 v;
        for (int k = 0; k < 3; ++k) {
            const int whole = front.signed_byte();
            v[k] = away_mm + step_mm * whole + hair_mm * std::sin(i * 12.9898 + k * 78.233);
        }
        mesh.vertices.push_back(v);
    }
    const auto corner = [&] { return static_cast<std::int32_t>(front.byte() % count); };
    constexpr std::size_t kMostTriangles = 200;
    while (!front.rest().empty() && mesh.triangles.size() < kMostTriangles) {
        const std::int32_t a = corner();
        const std::int32_t b = corner();
        const std::int32_t c = corner();
        mesh.triangles.push_back({a, b, c});
    }
    return mesh;
}

/// The bytes that small_mesh reads such a mesh from. \pre whole coordinates from -128 to 127
[[nodiscard]] inline std::string small_mesh_bytes(const cavigram::TriMesh& mesh, unsigned form) {
    std::string bytes{static_cast<char>(form), static_cast<char>(mesh.vertices.size() - 3)};
    for (const cavigram::Vec3& v : mesh.vertices) {
        for (int k = 0; k < 3; ++k) {
            bytes += static_cast<char>(std::lround(v[k]));
        }
    }
    for (const cavigram::Triangle& t : mesh.triangles) {
        for (const std::int32_t i : t) {
            bytes += static_cast<char>(i);
        }
    }
    return bytes;
}

}  // namespace fuzz
