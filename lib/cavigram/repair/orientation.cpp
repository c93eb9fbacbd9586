// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/orientation.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/orient_polygon_soup.h>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/weld.h"
#include "cavigram/repair/submesh_detail.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

// Whether two triangles over the same vertices run the same way.
bool same_way(const Triangle& s, const Triangle& t) {
    for (std::size_t i = 0; i < 3; ++i) {
        if (s[0] == t[i]) {
            return s[1] == t[(i + 1) % 3];
        }
    }
    return true;
}

// Boxes of the shells, and their volumes by the divergence theorem about the boxes' centers.
void measure_shells(const TriMesh& mesh, const Shells& shells, std::vector<Box3>& boxes,
                    std::vector<double>& volume_mm3) {
    const auto count = static_cast<std::size_t>(shells.count);
    boxes.assign(count, Box3{});
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        Box3& box = boxes[static_cast<std::size_t>(shells.of_triangle[t])];
        const Vec3& a = mesh.corner(t, 0);
        const Vec3& b = mesh.corner(t, 1);
        const Vec3& c = mesh.corner(t, 2);
        box.min() = box.min().cwiseMin(a.cwiseMin(b.cwiseMin(c)));
        box.max() = box.max().cwiseMax(a.cwiseMax(b.cwiseMax(c)));
    }
    std::vector<Vec3> origin(count);
    for (std::size_t s = 0; s < count; ++s) {
        origin[s] = boxes[s].center();
    }
    volume_mm3.assign(count, 0.0);
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        const auto s = static_cast<std::size_t>(shells.of_triangle[t]);
        const Vec3 a = mesh.corner(t, 0) - origin[s];
        volume_mm3[s] +=
            a.dot((mesh.corner(t, 1) - origin[s]).cross(mesh.corner(t, 2) - origin[s]));
    }
    for (double& volume : volume_mm3) {
        volume /= 6.0;
    }
}

// From the outermost shells inward: how often what holds a shell winds around it.
void find_roles(Nesting& nesting, const std::vector<std::vector<std::size_t>>& holders) {
    const std::size_t count = holders.size();
    std::vector<std::size_t> order(count);
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return nesting.depth[a] < nesting.depth[b];
    });
    std::vector<bool> inside_out(count, false);  // its outermost shell looked inward
    for (const std::size_t s : order) {
        bool inward = nesting.volume_mm3[s] < 0.0;
        int around = 0;
        for (const std::size_t h : holders[s]) {
            inside_out[s] = inside_out[s] || (nesting.depth[h] == 0 && inside_out[h]);
            around += nesting.role[h] == ShellRole::solid    ? 1
                      : nesting.role[h] == ShellRole::hollow ? -1
                                                             : 0;
        }
        inside_out[s] = holders[s].empty() ? inward : inside_out[s];
        inward = inward != inside_out[s];
        nesting.role[s] = around <= 0 ? ShellRole::solid
                          : inward    ? ShellRole::hollow
                                      : ShellRole::within;
        const bool shall_be_inward = nesting.role[s] == ShellRole::hollow;
        if (shall_be_inward != (nesting.volume_mm3[s] < 0.0)) {
            nesting.turned.push_back(static_cast<std::int32_t>(s));
        }
    }
    std::sort(nesting.turned.begin(), nesting.turned.end());
}

// Which triangles CGAL would turn so that neighbors agree. It copies vertices where it can't make
// ends meet; only the turning is taken from it, the vertices stay ours.
std::vector<bool> turned_by_cgal(const TriMesh& mesh) {
    using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
    std::vector<Kernel::Point_3> points;
    points.reserve(mesh.vertices.size());
    for (const Vec3& v : mesh.vertices) {
        points.emplace_back(v.x(), v.y(), v.z());
    }
    std::vector<std::array<std::size_t, 3>> polygons;
    polygons.reserve(mesh.triangles.size());
    for (const Triangle& t : mesh.triangles) {
        polygons.push_back({static_cast<std::size_t>(t[0]), static_cast<std::size_t>(t[1]),
                            static_cast<std::size_t>(t[2])});
    }
    CGAL::Polygon_mesh_processing::orient_polygon_soup(points, polygons);
    const auto place = [&](std::size_t v) {
        return Vec3(points[v].x(), points[v].y(), points[v].z());
    };
    std::vector<bool> turned(mesh.triangles.size());
    for (std::size_t t = 0; t < polygons.size(); ++t) {
        // Compare by position: corner 0's successor tells the way.
        for (std::size_t i = 0; i < 3; ++i) {
            if (place(polygons[t][i]) == mesh.corner(t, 0)) {
                turned[t] = place(polygons[t][(i + 1) % 3]) != mesh.corner(t, 1);
            }
        }
    }
    return turned;
}

}  // namespace

Consistency make_consistent(const TriMesh& mesh) {
    const std::vector<bool> turned = turned_by_cgal(mesh);
    // Each piece keeps the way of most of its area: a scan with a few flipped patches must not be
    // turned as a whole.
    TriMesh trial = mesh;
    for (std::size_t t = 0; t < turned.size(); ++t) {
        if (turned[t]) {
            std::swap(trial.triangles[t][1], trial.triangles[t][2]);
        }
    }
    const Shells pieces = shells(trial, adjacency(trial));
    std::vector<double> balance(static_cast<std::size_t>(pieces.count), 0.0);
    for (std::size_t t = 0; t < turned.size(); ++t) {
        const double area =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
        balance[static_cast<std::size_t>(pieces.of_triangle[t])] += turned[t] ? -area : area;
    }
    Consistency result;
    for (std::size_t t = 0; t < turned.size(); ++t) {
        if (balance[static_cast<std::size_t>(pieces.of_triangle[t])] < 0.0) {
            std::swap(trial.triangles[t][1], trial.triangles[t][2]);
        }
        if (!same_way(trial.triangles[t], mesh.triangles[t])) {
            ++result.turned;
            result.turned_triangles.push_back(static_cast<std::int32_t>(t));
        }
    }
    result.mesh = std::move(trial);
    return result;
}

Nesting nesting_of(const TriMesh& mesh, const Shells& shells,
                   const std::vector<std::array<std::int32_t, 2>>& crossing) {
    const auto count = static_cast<std::size_t>(shells.count);
    std::vector<Box3> boxes;
    Nesting nesting;
    nesting.depth.assign(count, 0);
    nesting.role.assign(count, ShellRole::solid);
    measure_shells(mesh, shells, boxes, nesting.volume_mm3);
    if (count == 1 && nesting.volume_mm3.front() >= 0.0) {
        return nesting;  // nothing to nest and nothing to turn: no lists of triangles needed
    }
    const auto triangles = triangles_of_shells(shells);
    std::vector<std::vector<std::size_t>> holders(count);
    for (std::size_t outer = 0; outer < count; ++outer) {
        std::vector<std::size_t> inner;
        for (std::size_t s = 0; s < count; ++s) {
            const bool holds = s != outer &&
                               (boxes[outer].min().array() <= boxes[s].min().array()).all() &&
                               (boxes[s].max().array() <= boxes[outer].max().array()).all();
            const std::array<std::int32_t, 2> pair = {
                static_cast<std::int32_t>(std::min(s, outer)),
                static_cast<std::int32_t>(std::max(s, outer))};
            if (holds && !std::binary_search(crossing.begin(), crossing.end(), pair)) {
                inner.push_back(s);
            }
        }
        if (inner.empty()) {
            continue;
        }
        const TriangleBvh bvh(submesh(mesh, triangles[outer]));
        for (const std::size_t s : inner) {
            const Vec3& probe = mesh.corner(static_cast<std::size_t>(triangles[s].front()), 0);
            if (bvh.winding(probe) != 0) {
                holders[s].push_back(outer);
                ++nesting.depth[s];
            }
        }
    }
    find_roles(nesting, holders);
    return nesting;
}

void turn_shells(TriMesh& mesh, const Shells& shells, const std::vector<std::int32_t>& turned) {
    if (turned.empty()) {
        return;
    }
    std::vector<bool> turns(static_cast<std::size_t>(shells.count), false);
    for (const std::int32_t s : turned) {
        turns[static_cast<std::size_t>(s)] = true;
    }
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        if (turns[static_cast<std::size_t>(shells.of_triangle[t])]) {
            std::swap(mesh.triangles[t][1], mesh.triangles[t][2]);
        }
    }
}

}  // namespace cavigram
