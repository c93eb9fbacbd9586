// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstdint>
#include <numbers>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

/// Solids swept along a line, for tests.
namespace swept {

/// The place of a section, its two axes across, and the half widths along them.
struct Station {
    cavigram::Vec3 at;
    cavigram::Vec3 x;  ///< Unit, across.
    cavigram::Vec3 y;  ///< Unit, across both.
    double a = 1.0;    ///< Half width along x.
    double b = 1.0;    ///< Half width along y.
};

/// Sections of `sides` corners on ellipses (on rectangles for 4) through the stations, closed flat
/// at both ends. x cross y points along the line.
inline cavigram::TriMesh solid(const std::vector<Station>& line, int sides) {
    cavigram::TriMesh mesh;
    for (const Station& s : line) {
        for (int k = 0; k < sides; ++k) {
            const double angle = 2.0 * std::numbers::pi * (k + 0.5) / sides;
            const double grow = sides == 4 ? std::numbers::sqrt2 : 1.0;
            mesh.vertices.emplace_back(
                s.at + grow * (s.a * std::cos(angle) * s.x + s.b * std::sin(angle) * s.y));
        }
    }
    const auto at = [&](std::size_t i, int k) {
        return static_cast<std::int32_t>(static_cast<int>(i) * sides + k % sides);
    };
    for (std::size_t i = 0; i + 1 < line.size(); ++i) {
        for (int k = 0; k < sides; ++k) {
            mesh.triangles.push_back({at(i, k), at(i, k + 1), at(i + 1, k + 1)});
            mesh.triangles.push_back({at(i, k), at(i + 1, k + 1), at(i + 1, k)});
        }
    }
    for (int k = 1; k + 1 < sides; ++k) {
        mesh.triangles.push_back({at(0, 0), at(0, k + 1), at(0, k)});
        mesh.triangles.push_back(
            {at(line.size() - 1, 0), at(line.size() - 1, k), at(line.size() - 1, k + 1)});
    }
    return mesh;
}

/// A round bar along an arc of radius `radius` in the plane y = 0 that starts at the origin along
/// +z and bends toward +x.
inline cavigram::TriMesh arc(double radius, double angle, double bar_radius, int along, int sides) {
    std::vector<Station> line;
    for (int i = 0; i <= along; ++i) {
        const double t = angle * i / along;
        const cavigram::Vec3 inward(std::cos(t), 0.0, -std::sin(t));
        line.push_back({{radius * (1.0 - std::cos(t)), 0.0, radius * std::sin(t)},
                        inward,
                        cavigram::Vec3::UnitY(),
                        bar_radius,
                        bar_radius});
    }
    return solid(line, sides);
}

/// A square bar with one mitered corner: from the origin along +z for `one`, then along +x for
/// `other`, both to the corner of the middle line.
inline cavigram::TriMesh elbow(double one, double other, double width) {
    const double h = 0.5 * width;
    const cavigram::Vec3 y = cavigram::Vec3::UnitY();
    const double r = std::numbers::sqrt2;
    std::vector<Station> line = {
        {{0, 0, 0}, {1, 0, 0}, y, h, h},
        {{0, 0, one}, {1 / r, 0, -1 / r}, y, r * h, h},
        {{other, 0, one}, {0, 0, -1}, y, h, h},
    };
    return solid(line, 4);
}

}  // namespace swept
