// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/cracks.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <tuple>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/union_find.h"
#include "cavigram/mesh/weld.h"

namespace cavigram {

namespace {

struct BorderVertex {
    std::int32_t vertex = 0;
    double shortest_mm = std::numeric_limits<double>::infinity();  // of its border edges
    double area_mm2 = 0.0;                                         // of its triangles at the border
};

std::vector<BorderVertex> border_vertices(const TriMesh& mesh) {
    const Adjacency adjacent = adjacency(mesh);
    std::map<std::int32_t, BorderVertex> found;
    for (std::size_t h = 0; h < adjacent.twin.size(); ++h) {
        if (adjacent.twin[h] >= 0) {
            continue;
        }
        const std::size_t t = h / 3;
        const Vec3& a = mesh.corner(t, static_cast<int>(h % 3));
        const Vec3& b = mesh.corner(t, static_cast<int>((h + 1) % 3));
        const double area =
            0.5 *
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
        for (const std::size_t i : {h % 3, (h + 1) % 3}) {
            BorderVertex& entry = found[mesh.triangles[t][i]];
            entry.vertex = mesh.triangles[t][i];
            entry.shortest_mm = std::min(entry.shortest_mm, (b - a).norm());
            entry.area_mm2 += area;
        }
    }
    std::vector<BorderVertex> list;
    for (const auto& [vertex, entry] : found) {
        list.push_back(entry);
    }
    return list;
}

}  // namespace

CrackClosing close_cracks(const TriMesh& mesh, double reach_mm) {
    CrackClosing result;
    const std::vector<BorderVertex> border = border_vertices(mesh);
    // Sorted by x, only a window has to be compared.
    std::vector<std::size_t> by_x(border.size());
    std::iota(by_x.begin(), by_x.end(), std::size_t{0});
    const auto position = [&](std::size_t i) -> const Vec3& {
        return mesh.vertices[static_cast<std::size_t>(border[i].vertex)];
    };
    std::sort(by_x.begin(), by_x.end(), [&](std::size_t i, std::size_t j) {
        return std::pair(position(i).x(), i) < std::pair(position(j).x(), j);
    });
    std::vector<std::tuple<double, std::size_t, std::size_t>> pairs;
    for (std::size_t i = 0; i < by_x.size(); ++i) {
        for (std::size_t j = i + 1;
             j < by_x.size() && position(by_x[j]).x() - position(by_x[i]).x() <= reach_mm; ++j) {
            const std::size_t a = std::min(by_x[i], by_x[j]);
            const std::size_t b = std::max(by_x[i], by_x[j]);
            const double distance = (position(a) - position(b)).norm();
            // A quarter of the local edge, as two ends of one edge must never fall together.
            const double limit =
                std::min(reach_mm, 0.25 * std::min(border[a].shortest_mm, border[b].shortest_mm));
            if (distance <= limit) {
                pairs.emplace_back(distance, a, b);
            }
        }
    }
    std::sort(pairs.begin(), pairs.end());
    // Groups grow nearest pairs first; a group's first vertex stays, and another group joins only
    // if its own first vertex is within the limit too, so that no chain of small steps can swallow
    // an edge.
    UnionFind groups(border.size());
    const auto lead = [&](std::size_t i) {
        return static_cast<std::size_t>(groups.find(static_cast<std::int32_t>(i)));
    };
    for (const auto& pair : pairs) {
        const std::size_t a = lead(std::get<1>(pair));
        const std::size_t b = lead(std::get<2>(pair));
        const double limit =
            std::min(reach_mm, 0.25 * std::min(border[a].shortest_mm, border[b].shortest_mm));
        if (a != b && (position(a) - position(b)).norm() <= limit) {
            groups.join(static_cast<std::int32_t>(a), static_cast<std::int32_t>(b));
        }
    }
    result.mesh = mesh;
    for (std::size_t i = 0; i < border.size(); ++i) {
        const std::size_t a = lead(i);
        if (a == i) {
            continue;
        }
        result.mesh.vertices[static_cast<std::size_t>(border[i].vertex)] = position(a);
        result.volume_bound_mm3 += border[i].area_mm2 * (position(a) - position(i)).norm();
        result.places_mm.push_back(position(a));
        ++result.joined;
    }
    if (result.joined > 0) {
        result.mesh = weld_exact(result.mesh).mesh;
    }
    return result;
}

}  // namespace cavigram
