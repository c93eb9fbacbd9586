// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cstddef>
#include <utility>
#include <vector>

#include "cavigram/mesh/tri_mesh.h"

/// Volume by signed crossings along lines, without any tree or exact arithmetic of lib.
namespace oracle {

/// Volume of where the closed mesh winds around at least once: the length of lines along z through
/// the midpoints of an n by n grid, shifted off the corners by shares no mesh is likely to have.
/// Each triangle is laid over the lines that it covers. Smooth bodies: error about 1/n^1.5.
inline double ray_volume(const cavigram::TriMesh& mesh, std::size_t n) {
    const cavigram::Box3 box = bounds(mesh);
    const double dx = box.sizes().x() / static_cast<double>(n);
    const double dy = box.sizes().y() / static_cast<double>(n);
    const auto line_x = [&](std::size_t i) {
        return box.min().x() + (static_cast<double>(i) + 0.50123) * dx;
    };
    const auto line_y = [&](std::size_t k) {
        return box.min().y() + (static_cast<double>(k) + 0.49931) * dy;
    };
    std::vector<std::vector<std::pair<double, int>>> steps(n * n);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const cavigram::Vec3& a = mesh.corner(t, 0);
        const cavigram::Vec3& b = mesh.corner(t, 1);
        const cavigram::Vec3& c = mesh.corner(t, 2);
        const double area = (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
        if (area == 0.0) {
            continue;
        }
        const auto first = [](double from, double low, double step) {
            return static_cast<std::size_t>(std::max(0.0, (from - low) / step - 1.0));
        };
        const double high_x = std::max({a.x(), b.x(), c.x()});
        const double high_y = std::max({a.y(), b.y(), c.y()});
        for (std::size_t i = first(std::min({a.x(), b.x(), c.x()}), box.min().x(), dx);
             i < n && line_x(i) <= high_x; ++i) {
            for (std::size_t k = first(std::min({a.y(), b.y(), c.y()}), box.min().y(), dy);
                 k < n && line_y(k) <= high_y; ++k) {
                const double x = line_x(i);
                const double y = line_y(k);
                const auto share = [&](const cavigram::Vec3& p, const cavigram::Vec3& q) {
                    return ((q.x() - p.x()) * (y - p.y()) - (q.y() - p.y()) * (x - p.x())) / area;
                };
                const double u = share(b, c);
                const double v = share(c, a);
                const double w = share(a, b);
                if (u >= 0.0 && v >= 0.0 && w >= 0.0) {
                    steps[i * n + k].emplace_back(u * a.z() + v * b.z() + w * c.z(),
                                                  area > 0.0 ? -1 : 1);
                }
            }
        }
    }
    double length = 0.0;
    for (auto& line : steps) {
        std::sort(line.begin(), line.end());
        int winding = 0;
        for (std::size_t i = 0; i + 1 < line.size(); ++i) {
            winding += line[i].second;
            length += winding >= 1 ? line[i + 1].first - line[i].first : 0.0;
        }
    }
    return length * dx * dy;
}

}  // namespace oracle
