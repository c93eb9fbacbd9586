// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <map>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/triangulate_hole.h>
#include <CGAL/Surface_mesh.h>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/manifold.h"
#include "cavigram/repair/hole_triangles_detail.h"

namespace cavigram {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;

constexpr double kSliver = 1e-9;  // height over longest edge

std::vector<Kernel::Point_3> cgal_points(const TriMesh& mesh,
                                         const std::vector<std::int32_t>& vertices) {
    std::vector<Kernel::Point_3> points;
    for (const std::int32_t v : vertices) {
        const Vec3 p = position(mesh, v);
        points.emplace_back(p.x(), p.y(), p.z());
    }
    return points;
}

// Where three vertices of a rim lie in a line, the patch may hold the triangle between them, which
// lies on its neighbors: the longest edge of such a triangle is turned to the far corner of the
// triangle beyond it.
class SliverTurner {
  public:
    SliverTurner(const TriMesh& mesh, std::vector<Triangle>& patch) : mesh_(mesh), patch_(patch) {
        for (std::size_t k = 0; k < patch_.size(); ++k) {
            enter(k);
        }
    }

    void turn_all() {
        for (std::size_t turn = 0; turn < 4 * patch_.size(); ++turn) {
            const std::size_t k = turn % patch_.size();
            if (is_sliver(patch_[k])) {
                turn_one(k);
            }
        }
    }

  private:
    void enter(std::size_t k) {
        for (std::size_t i = 0; i < 3; ++i) {
            at_[{patch_[k][i], patch_[k][(i + 1) % 3]}] = k;
        }
    }

    [[nodiscard]] double length2(const Triangle& t, std::size_t i) const {
        return (position(mesh_, t[(i + 1) % 3]) - position(mesh_, t[i])).squaredNorm();
    }

    [[nodiscard]] bool is_sliver(const Triangle& t) const {
        const double longest2 = std::max({length2(t, 0), length2(t, 1), length2(t, 2)});
        const double area2 =
            double_area_vector(position(mesh_, t[0]), position(mesh_, t[1]), position(mesh_, t[2]))
                .squaredNorm();
        return area2 <= kSliver * kSliver * longest2 * longest2;
    }

    // (a, b, c) and (b, a, d) become (a, d, c) and (d, b, c).
    void turn_one(std::size_t k) {
        const Triangle sliver = patch_[k];
        std::size_t i = 0;
        for (std::size_t j = 1; j < 3; ++j) {
            i = length2(sliver, j) > length2(sliver, i) ? j : i;
        }
        const std::int32_t a = sliver[i];
        const std::int32_t b = sliver[(i + 1) % 3];
        const std::int32_t c = sliver[(i + 2) % 3];
        const auto across = at_.find({b, a});
        if (across == at_.end()) {
            return;
        }
        const std::size_t m = across->second;
        std::int32_t d = -1;
        for (const std::int32_t v : patch_[m]) {
            d = v != a && v != b ? v : d;
        }
        if (d == c || at_.count({c, d}) > 0 || at_.count({d, c}) > 0) {
            return;
        }
        at_.erase({a, b});
        at_.erase({b, a});
        patch_[k] = {a, d, c};
        patch_[m] = {d, b, c};
        enter(k);
        enter(m);
    }

    const TriMesh& mesh_;
    std::vector<Triangle>& patch_;
    std::map<std::array<std::int32_t, 2>, std::size_t> at_;  // the triangle at each halfedge
};

// The surface around a rim with vertices of its own, and which vertex of the mesh each one is.
struct Neighborhood {
    TriMesh mesh;
    std::vector<std::int32_t> ours;
};

// Where the neighborhood is cut off, a vertex may keep two fans; each gets a vertex of its own.
Neighborhood neighborhood(const TriMesh& mesh, const CompressedRows& at, const Rim& rim) {
    TriMesh near;
    std::map<std::int32_t, std::int32_t> local;
    std::vector<std::int32_t> known;
    for (const std::int32_t t : triangles_near(mesh, at, rim.vertices, kFairingRings)) {
        Triangle moved;
        for (std::size_t i = 0; i < 3; ++i) {
            const std::int32_t v = mesh.triangles[static_cast<std::size_t>(t)][i];
            const auto [entry, is_new] =
                local.try_emplace(v, static_cast<std::int32_t>(known.size()));
            if (is_new) {
                known.push_back(v);
                near.vertices.push_back(position(mesh, v));
            }
            moved[i] = entry->second;
        }
        near.triangles.push_back(moved);
    }
    Neighborhood result{cut_to_manifold(near).mesh, std::move(known)};
    result.ours.resize(result.mesh.vertices.size(), -1);
    for (std::size_t t = 0; t < near.triangles.size(); ++t) {
        for (std::size_t i = 0; i < 3; ++i) {
            result.ours[static_cast<std::size_t>(result.mesh.triangles[t][i])] =
                result.ours[static_cast<std::size_t>(near.triangles[t][i])];
        }
    }
    return result;
}

// Empty if it is no halfedge structure.
Surface surface_of(const TriMesh& mesh) {
    Surface surface;
    for (const Vec3& p : mesh.vertices) {
        surface.add_vertex(Kernel::Point_3(p.x(), p.y(), p.z()));
    }
    const auto vertex = [](std::int32_t v) {
        return Surface::Vertex_index(static_cast<Surface::size_type>(v));
    };
    for (const Triangle& t : mesh.triangles) {
        if (surface.add_face(vertex(t[0]), vertex(t[1]), vertex(t[2])) == Surface::null_face()) {
            return {};
        }
    }
    return surface;
}

Surface::Halfedge_index border_at(const Surface& surface, const std::vector<std::int32_t>& ours,
                                  const Rim& rim) {
    for (const Surface::Halfedge_index h : surface.halfedges()) {
        if (surface.is_border(h) && ours[surface.source(h)] == rim.vertices[1] &&
            ours[surface.target(h)] == rim.vertices[0]) {
            return h;
        }
    }
    return Surface::null_halfedge();
}

}  // namespace

std::vector<Triangle> plain_patch(const TriMesh& mesh, const Rim& rim, bool flat) {
    // The patch runs against the border.
    const std::vector<std::int32_t> reversed(rim.vertices.rbegin(), rim.vertices.rend());
    std::vector<CGAL::Triple<int, int, int>> triples;
    CGAL::Polygon_mesh_processing::triangulate_hole_polyline(
        cgal_points(mesh, reversed), std::back_inserter(triples),
        CGAL::parameters::use_2d_constrained_delaunay_triangulation(flat)
            .do_not_use_cubic_algorithm(reversed.size() > kCubicSearch));
    std::vector<Triangle> patch;
    patch.reserve(triples.size());
    for (const auto& triple : triples) {
        patch.push_back({reversed[static_cast<std::size_t>(triple.first)],
                         reversed[static_cast<std::size_t>(triple.second)],
                         reversed[static_cast<std::size_t>(triple.third)]});
    }
    SliverTurner(mesh, patch).turn_all();
    return patch;
}

std::vector<Triangle> faired_patch(TriMesh& mesh, const CompressedRows& at, const Rim& rim) {
    Neighborhood near = neighborhood(mesh, at, rim);
    Surface surface = surface_of(near.mesh);
    const Surface::Halfedge_index border = border_at(surface, near.ours, rim);
    if (border == Surface::null_halfedge()) {
        return {};
    }
    std::vector<Surface::Face_index> faces;
    std::vector<Surface::Vertex_index> vertices;
    const bool faired = std::get<0>(CGAL::Polygon_mesh_processing::triangulate_refine_and_fair_hole(
        surface, border, std::back_inserter(faces), std::back_inserter(vertices),
        CGAL::parameters::use_2d_constrained_delaunay_triangulation(false)
            .do_not_use_cubic_algorithm(rim.vertices.size() > kCubicSearch)));
    if (!faired || faces.empty()) {
        return {};
    }
    near.ours.resize(surface.number_of_vertices(), -1);
    for (const Surface::Vertex_index v : vertices) {
        const auto& p = surface.point(v);
        near.ours[v] = static_cast<std::int32_t>(mesh.vertices.size());
        mesh.vertices.emplace_back(p.x(), p.y(), p.z());
    }
    std::vector<Triangle> patch;
    for (const Surface::Face_index f : faces) {
        const auto h = surface.halfedge(f);
        patch.push_back({near.ours[surface.source(h)], near.ours[surface.target(h)],
                         near.ours[surface.target(surface.next(h))]});
    }
    return patch;
}

}  // namespace cavigram
