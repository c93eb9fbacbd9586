// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/oracles.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include <CGAL/Box_intersection_d/Box_with_info_d.h>
#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/measure.h>
#include <CGAL/Polygon_mesh_processing/polygon_soup_to_polygon_mesh.h>
#include <CGAL/Polygon_mesh_processing/self_intersections.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/box_intersection_d.h>

using namespace cavigram;

namespace oracle {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;
namespace PMP = CGAL::Polygon_mesh_processing;

Kernel::Point_3 point(const Vec3& p) {
    return {p.x(), p.y(), p.z()};
}

std::vector<std::vector<std::size_t>> polygons(const TriMesh& mesh) {
    std::vector<std::vector<std::size_t>> list;
    for (const Triangle& t : mesh.triangles) {
        list.push_back({static_cast<std::size_t>(t[0]), static_cast<std::size_t>(t[1]),
                        static_cast<std::size_t>(t[2])});
    }
    return list;
}

// Faces come in the order of the triangles.
Surface surface_of(const TriMesh& mesh) {
    std::map<std::int32_t, Surface::Vertex_index> vertex;
    Surface surface;
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            if (vertex.count(v) == 0) {
                vertex[v] = surface.add_vertex(point(mesh.vertices[static_cast<std::size_t>(v)]));
            }
        }
    }
    for (const Triangle& t : mesh.triangles) {
        surface.add_face(vertex[t[0]], vertex[t[1]], vertex[t[2]]);
    }
    return surface;
}

// Whether two triangles meet beyond the corners that they share, by exact predicates.
bool cross_exactly(const TriMesh& mesh, std::int32_t i, std::int32_t j) {
    const auto at = [&](std::int32_t v) {
        return point(mesh.vertices[static_cast<std::size_t>(v)]);
    };
    const Triangle& s = mesh.triangles[static_cast<std::size_t>(i)];
    const Triangle& t = mesh.triangles[static_cast<std::size_t>(j)];
    const Kernel::Triangle_3 first(at(s[0]), at(s[1]), at(s[2]));
    const Kernel::Triangle_3 second(at(t[0]), at(t[1]), at(t[2]));
    const std::set<std::int32_t> in_s(s.begin(), s.end());
    std::vector<std::int32_t> shared;
    std::vector<std::int32_t> rest_t;
    for (const std::int32_t v : t) {
        (in_s.count(v) > 0 ? shared : rest_t).push_back(v);
    }
    std::vector<std::int32_t> rest_s;
    for (const std::int32_t v : s) {
        if (std::find(shared.begin(), shared.end(), v) == shared.end()) {
            rest_s.push_back(v);
        }
    }
    if (shared.empty()) {
        return CGAL::do_intersect(first, second);
    }
    if (shared.size() == 1) {
        return CGAL::do_intersect(second, Kernel::Segment_3(at(rest_s[0]), at(rest_s[1]))) ||
               CGAL::do_intersect(first, Kernel::Segment_3(at(rest_t[0]), at(rest_t[1])));
    }
    if (shared.size() == 2) {
        return CGAL::coplanar(at(shared[0]), at(shared[1]), at(rest_s[0]), at(rest_t[0])) &&
               CGAL::coplanar_orientation(at(shared[0]), at(shared[1]), at(rest_s[0]),
                                          at(rest_t[0])) == CGAL::POSITIVE;
    }
    return true;  // three corners in common: the same triangle twice
}

}  // namespace

TriMesh welded(const TriMesh& mesh) {
    std::map<std::tuple<double, double, double>, std::int32_t> index;
    TriMesh result;
    for (const Triangle& t : mesh.triangles) {
        Triangle moved;
        for (std::size_t i = 0; i < 3; ++i) {
            const Vec3& p = mesh.vertices[static_cast<std::size_t>(t[i])];
            const auto [entry, is_new] = index.try_emplace(
                {p.x(), p.y(), p.z()}, static_cast<std::int32_t>(result.vertices.size()));
            if (is_new) {
                result.vertices.push_back(p);
            }
            moved[i] = entry->second;
        }
        if (moved[0] != moved[1] && moved[1] != moved[2] && moved[2] != moved[0]) {
            result.triangles.push_back(moved);
        }
    }
    return result;
}

std::vector<std::array<std::int32_t, 2>> crossing_pairs_one_by_one(const TriMesh& mesh) {
    std::vector<std::array<std::int32_t, 2>> pairs;
    const auto n = static_cast<std::int32_t>(mesh.triangles.size());
    for (std::int32_t i = 0; i < n; ++i) {
        for (std::int32_t j = i + 1; j < n; ++j) {
            if (cross_exactly(mesh, i, j)) {
                pairs.push_back({i, j});
            }
        }
    }
    return pairs;
}

std::vector<std::array<std::int32_t, 2>> crossing_pairs_by_boxes(const TriMesh& mesh) {
    using Box = CGAL::Box_intersection_d::Box_with_info_d<double, 3, std::int32_t>;
    std::vector<Box> boxes;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        // A triangle whose corners lie in line has no inside to cross, and CGAL's test asks for
        // others.
        if (CGAL::collinear(point(mesh.corner(t, 0)), point(mesh.corner(t, 1)),
                            point(mesh.corner(t, 2)))) {
            continue;
        }
        CGAL::Bbox_3 box;
        for (int i = 0; i < 3; ++i) {
            box += point(mesh.corner(t, i)).bbox();
        }
        boxes.emplace_back(box, static_cast<std::int32_t>(t));
    }
    std::vector<std::array<std::int32_t, 2>> pairs;
    CGAL::box_self_intersection_d(boxes.begin(), boxes.end(), [&](const Box& a, const Box& b) {
        const std::int32_t i = std::min(a.info(), b.info());
        const std::int32_t j = std::max(a.info(), b.info());
        if (cross_exactly(mesh, i, j)) {
            pairs.push_back({i, j});
        }
    });
    std::sort(pairs.begin(), pairs.end());
    return pairs;
}

std::vector<bool> is_degenerate(const TriMesh& mesh) {
    std::vector<bool> flat;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        flat.push_back(CGAL::collinear(point(mesh.corner(t, 0)), point(mesh.corner(t, 1)),
                                       point(mesh.corner(t, 2))));
    }
    return flat;
}

bool is_halfedge_mesh(const TriMesh& mesh) {
    return PMP::is_polygon_soup_a_polygon_mesh(polygons(mesh));
}

std::vector<std::array<std::int32_t, 2>> cgal_self_intersections(const TriMesh& mesh) {
    const Surface surface = surface_of(mesh);
    std::vector<std::pair<Surface::Face_index, Surface::Face_index>> found;
    PMP::self_intersections(surface, std::back_inserter(found));
    std::vector<std::array<std::int32_t, 2>> pairs;
    for (const auto& [f, g] : found) {
        const auto a = static_cast<std::int32_t>(f.idx());
        const auto b = static_cast<std::int32_t>(g.idx());
        pairs.push_back({std::min(a, b), std::max(a, b)});
    }
    std::sort(pairs.begin(), pairs.end());
    return pairs;
}

bool cgal_is_closed(const TriMesh& mesh) {
    return CGAL::is_closed(surface_of(mesh));
}

double cgal_volume(const TriMesh& mesh) {
    return PMP::volume(surface_of(mesh));
}

long euler_number(const TriMesh& mesh) {
    std::set<std::int32_t> vertices;
    std::set<std::array<std::int32_t, 2>> edges;
    for (const Triangle& t : mesh.triangles) {
        for (std::size_t i = 0; i < 3; ++i) {
            vertices.insert(t[i]);
            edges.insert({std::min(t[i], t[(i + 1) % 3]), std::max(t[i], t[(i + 1) % 3])});
        }
    }
    return static_cast<long>(vertices.size()) - static_cast<long>(edges.size()) +
           static_cast<long>(mesh.triangles.size());
}

}  // namespace oracle
