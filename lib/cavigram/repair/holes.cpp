// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/holes.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <set>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/triangulate_hole.h>
#include <CGAL/Surface_mesh.h>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/manifold.h"

namespace cavigram {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;

constexpr std::size_t kPlainRim = 8;  // edges; too few to tell a shape from
constexpr double kFlatShare =
    0.025;  // of the diameter: scans end in a jagged rim where they met the table
constexpr double kBaseShare = 0.3;  // of the part's largest extent
constexpr double kBaseTurn =
    1.05;  // radians, 60 degrees: a side that leans less runs on, one that leans more was cut off
constexpr double kBaseSag =
    0.02;                  // of the diameter: how uneven a foot may be; common practice, no source
constexpr int kRings = 3;  // fairing to tangent continuity looks two rings beyond the rim
constexpr std::size_t kMostRimsForRings = 64;  // beyond, it is a sieve and no foot
constexpr std::size_t kCubicSearch =
    500;  // rim edges; beyond, CGAL's exhaustive search would seem to hang

// Everything about one rim that the patch and its range need. The rim runs as the border halfedges
// do, so the patch runs against it.
struct Rim {
    std::vector<std::int32_t> vertices;
    Vec3 center = Vec3::Zero();
    Vec3 outward = Vec3::Zero();  // unit, out of the part through the hole
    double length_mm = 0.0;
    double flat_area_mm2 = 0.0;
    double unevenness_mm = 0.0;  // mean distance from the rim's plane
    double turn = 0.0;  // angle from `outward` at which the surface's normals lean away from the
                        // hole's middle; > 0 bulges
};

Vec3 position(const TriMesh& mesh, std::int32_t v) {
    return mesh.vertices[static_cast<std::size_t>(v)];
}

// Triangles at each vertex (compressed rows).
struct VertexTriangles {
    std::vector<std::int32_t> first;
    std::vector<std::int32_t> triangles;
};

VertexTriangles triangles_at_vertices(const TriMesh& mesh) {
    VertexTriangles at;
    at.first.assign(mesh.vertices.size() + 1, 0);
    for (const Triangle& t : mesh.triangles) {
        for (const std::int32_t v : t) {
            ++at.first[static_cast<std::size_t>(v) + 1];
        }
    }
    for (std::size_t v = 0; v < mesh.vertices.size(); ++v) {
        at.first[v + 1] += at.first[v];
    }
    at.triangles.resize(3 * mesh.triangles.size());
    std::vector<std::int32_t> fill(at.first.begin(), at.first.end() - 1);
    for (std::size_t c = 0; c < at.triangles.size(); ++c) {
        const auto v = static_cast<std::size_t>(mesh.triangles[c / 3][c % 3]);
        at.triangles[static_cast<std::size_t>(fill[v]++)] = static_cast<std::int32_t>(c / 3);
    }
    return at;
}

std::set<std::int32_t> triangles_near(const TriMesh& mesh, const VertexTriangles& at,
                                      const Rim& rim, int rings) {
    std::set<std::int32_t> near;
    std::set<std::int32_t> front(rim.vertices.begin(), rim.vertices.end());
    for (int ring = 0; ring < rings; ++ring) {
        std::set<std::int32_t> next;
        for (const std::int32_t v : front) {
            for (std::int32_t k = at.first[static_cast<std::size_t>(v)];
                 k < at.first[static_cast<std::size_t>(v) + 1]; ++k) {
                const std::int32_t t = at.triangles[static_cast<std::size_t>(k)];
                if (near.insert(t).second) {
                    const Triangle& corners = mesh.triangles[static_cast<std::size_t>(t)];
                    next.insert(corners.begin(), corners.end());
                }
            }
        }
        front = std::move(next);
    }
    return near;
}

Rim measure_rim(const TriMesh& mesh, std::vector<std::int32_t> loop, const VertexTriangles& at) {
    Rim rim;
    rim.vertices = std::move(loop);
    const std::size_t n = rim.vertices.size();
    for (const std::int32_t v : rim.vertices) {
        rim.center += position(mesh, v) / static_cast<double>(n);
    }
    Vec3 area = Vec3::Zero();
    for (std::size_t i = 0; i < n; ++i) {
        const Vec3 a = position(mesh, rim.vertices[i]);
        const Vec3 b = position(mesh, rim.vertices[(i + 1) % n]);
        rim.length_mm += (b - a).norm();
        // The patch runs b -> a, so its normal is (b - c) x (a - c).
        const Vec3 fan = (b - rim.center).cross(a - rim.center);
        area += 0.5 * fan;
    }
    rim.flat_area_mm2 = area.norm();  // of the rim's outline; a jagged rim's own fan has more
    rim.outward = area.norm() > 0.0 ? Vec3(area.normalized()) : Vec3::UnitZ();
    for (const std::int32_t v : rim.vertices) {
        rim.unevenness_mm +=
            std::abs((position(mesh, v) - rim.center).dot(rim.outward)) / static_cast<double>(n);
    }
    // The lean of the surface over two rings, weighted by area: single triangles at a scanned rim
    // point anywhere.
    double sine = 0.0;
    double cosine = 0.0;
    for (const std::int32_t k : triangles_near(mesh, at, rim, 2)) {
        const auto t = static_cast<std::size_t>(k);
        const Vec3 normal =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        Vec3 away = (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0 - rim.center;
        away -= away.dot(rim.outward) * rim.outward;
        if (away.norm() > 0.0) {
            sine += normal.dot(away.normalized());
            cosine += normal.dot(rim.outward);
        }
    }
    rim.turn = std::atan2(sine, cosine);
    return rim;
}

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
void turn_slivers(const TriMesh& mesh, std::vector<Triangle>& patch) {
    constexpr double kSliver = 1e-9;
    const auto shape = [&](const Triangle& t) {  // height over longest edge, squared
        double longest = 0.0;
        for (std::size_t i = 0; i < 3; ++i) {
            longest = std::max(
                longest, (position(mesh, t[(i + 1) % 3]) - position(mesh, t[i])).squaredNorm());
        }
        const double area =
            double_area_vector(position(mesh, t[0]), position(mesh, t[1]), position(mesh, t[2]))
                .squaredNorm();
        return longest > 0.0 ? area / (longest * longest) : 0.0;
    };
    std::map<std::array<std::int32_t, 2>, std::size_t> at;  // the patch's triangle at each halfedge
    for (std::size_t k = 0; k < patch.size(); ++k) {
        for (std::size_t i = 0; i < 3; ++i) {
            at[{patch[k][i], patch[k][(i + 1) % 3]}] = k;
        }
    }
    for (std::size_t turn = 0; turn < 4 * patch.size(); ++turn) {
        const std::size_t k = turn % patch.size();
        const Triangle sliver = patch[k];
        if (shape(sliver) > kSliver * kSliver) {
            continue;
        }
        std::size_t i = 0;
        for (std::size_t j = 1; j < 3; ++j) {
            const auto length = [&](std::size_t e) {
                return (position(mesh, sliver[(e + 1) % 3]) - position(mesh, sliver[e])).norm();
            };
            i = length(j) > length(i) ? j : i;
        }
        const std::int32_t a = sliver[i];
        const std::int32_t b = sliver[(i + 1) % 3];
        const std::int32_t c = sliver[(i + 2) % 3];
        const auto across = at.find({b, a});
        if (across == at.end()) {
            continue;
        }
        const std::size_t m = across->second;
        std::int32_t d = -1;
        for (const std::int32_t v : patch[m]) {
            d = v != a && v != b ? v : d;
        }
        if (d == c || at.count({c, d}) > 0 || at.count({d, c}) > 0) {
            continue;
        }
        // (a, b, c) and (b, a, d) become (a, d, c) and (d, b, c).
        at.erase({a, b});
        at.erase({b, a});
        patch[k] = {a, d, c};
        patch[m] = {d, b, c};
        for (const std::size_t n : {k, m}) {
            for (std::size_t e = 0; e < 3; ++e) {
                at[{patch[n][e], patch[n][(e + 1) % 3]}] = n;
            }
        }
    }
}

// Triangles between the rim's vertices, by least area; `flat` projects to the rim's plane first.
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
    turn_slivers(mesh, patch);
    return patch;
}

// Fills, refines and fairs the hole seen in its neighborhood; new vertices go to the mesh's end.
// Empty if CGAL can't.
std::vector<Triangle> faired_patch(TriMesh& mesh, const VertexTriangles& at, const Rim& rim) {
    TriMesh near;
    near.vertices = {};
    std::map<std::int32_t, std::int32_t> local;
    std::vector<std::int32_t> ours;
    for (const std::int32_t t : triangles_near(mesh, at, rim, kRings)) {
        Triangle moved;
        for (std::size_t i = 0; i < 3; ++i) {
            const std::int32_t v = mesh.triangles[static_cast<std::size_t>(t)][i];
            const auto [entry, is_new] =
                local.try_emplace(v, static_cast<std::int32_t>(ours.size()));
            if (is_new) {
                ours.push_back(v);
                near.vertices.push_back(position(mesh, v));
            }
            moved[i] = entry->second;
        }
        near.triangles.push_back(moved);
    }
    // Where the neighborhood is cut off, a vertex may keep two fans; each needs a vertex of its
    // own.
    const ManifoldCut cut = cut_to_manifold(near);
    ours.resize(cut.mesh.vertices.size(), -1);
    for (std::size_t t = 0; t < near.triangles.size(); ++t) {
        for (std::size_t i = 0; i < 3; ++i) {
            const auto copy = static_cast<std::size_t>(cut.mesh.triangles[t][i]);
            ours[copy] = ours[static_cast<std::size_t>(near.triangles[t][i])];
        }
    }
    Surface surface;
    for (const Vec3& p : cut.mesh.vertices) {
        surface.add_vertex(Kernel::Point_3(p.x(), p.y(), p.z()));
    }
    const auto vertex = [](std::int32_t v) {
        return Surface::Vertex_index(static_cast<Surface::size_type>(v));
    };
    for (const Triangle& t : cut.mesh.triangles) {
        if (surface.add_face(vertex(t[0]), vertex(t[1]), vertex(t[2])) == Surface::null_face()) {
            return {};
        }
    }
    Surface::Halfedge_index border = Surface::null_halfedge();
    for (const Surface::Halfedge_index h : surface.halfedges()) {
        if (surface.is_border(h) && ours[surface.source(h)] == rim.vertices[1] &&
            ours[surface.target(h)] == rim.vertices[0]) {
            border = h;
            break;
        }
    }
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
    ours.resize(surface.number_of_vertices(), -1);
    for (const Surface::Vertex_index v : vertices) {
        const auto& p = surface.point(v);
        ours[v] = static_cast<std::int32_t>(mesh.vertices.size());
        mesh.vertices.emplace_back(p.x(), p.y(), p.z());
    }
    std::vector<Triangle> patch;
    for (const Surface::Face_index f : faces) {
        const auto h = surface.halfedge(f);
        patch.push_back({ours[surface.source(h)], ours[surface.target(h)],
                         ours[surface.target(surface.next(h))]});
    }
    return patch;
}

// Whether `inner` bounds, in the plane of `outer`, a hole in the area that `outer` bounds: together
// they are the rims of a ring-shaped foot.
bool ring_of(const TriMesh& mesh, const Rim& outer, const Rim& inner) {
    const double scale = std::sqrt(outer.flat_area_mm2);
    const bool flat =
        std::max(outer.unevenness_mm, inner.unevenness_mm) <= kFlatShare * scale &&
        std::abs((inner.center - outer.center).dot(outer.outward)) <= kFlatShare * scale;
    if (!flat || inner.flat_area_mm2 >= outer.flat_area_mm2 ||
        outer.outward.dot(inner.outward) > -0.98) {
        return false;
    }
    // The angle under which the outer rim goes around a vertex of the inner one, in the plane.
    const Vec3 p = position(mesh, inner.vertices.front());
    double angle = 0.0;
    for (std::size_t i = 0; i < outer.vertices.size(); ++i) {
        const Vec3 a = position(mesh, outer.vertices[i]) - p;
        const Vec3 b = position(mesh, outer.vertices[(i + 1) % outer.vertices.size()]) - p;
        angle += std::atan2(a.cross(b).dot(outer.outward), a.dot(b));
    }
    return std::abs(angle) > std::numbers::pi;
}

// One loop of both rims, joined there and back between their nearest vertices; the least area
// between it is the ring.
Rim bridged(const TriMesh& mesh, const Rim& outer, const Rim& inner) {
    std::size_t from = 0;
    std::size_t to = 0;
    double nearest = std::numeric_limits<double>::infinity();
    for (std::size_t i = 0; i < outer.vertices.size(); ++i) {
        for (std::size_t j = 0; j < inner.vertices.size(); ++j) {
            const double distance =
                (position(mesh, outer.vertices[i]) - position(mesh, inner.vertices[j]))
                    .squaredNorm();
            if (distance < nearest) {
                nearest = distance;
                from = i;
                to = j;
            }
        }
    }
    Rim both = outer;
    both.vertices.clear();
    for (std::size_t i = 0; i <= outer.vertices.size(); ++i) {
        both.vertices.push_back(outer.vertices[(from + i) % outer.vertices.size()]);
    }
    for (std::size_t j = 0; j <= inner.vertices.size(); ++j) {
        both.vertices.push_back(inner.vertices[(to + j) % inner.vertices.size()]);
    }
    both.length_mm += inner.length_mm;
    both.flat_area_mm2 -= inner.flat_area_mm2;
    return both;
}

// Volume of the spherical cap that runs on from the rim at the angle of its surface, signed:
// outward is positive.
double cap_volume_mm3(double diameter_mm, double turn) {
    const double limited = std::clamp(turn, -std::numbers::pi / 2, std::numbers::pi / 2);
    const double r = 0.5 * diameter_mm;
    const double h = r * std::tan(0.5 * limited);
    return std::numbers::pi * h * (3.0 * r * r + h * h) / 6.0;
}

void measure_patch(Patch& patch, const TriMesh& mesh, const std::vector<Triangle>& triangles,
                   const Rim& rim) {
    for (const Triangle& t : triangles) {
        const Vec3 a = position(mesh, t[0]) - rim.center;
        const Vec3 b = position(mesh, t[1]) - rim.center;
        const Vec3 c = position(mesh, t[2]) - rim.center;
        patch.area_mm2 += 0.5 * (b - a).cross(c - a).norm();
        patch.volume_change_mm3 +=
            a.dot(b.cross(c)) / 6.0;  // the flat fan from the center has none
    }
    // However the patch lies, the true surface may be as uneven as the rim is.
    const double uneven = patch.area_mm2 * rim.unevenness_mm;
    if (patch.kind == PatchKind::base) {
        patch.volume_below_mm3 = patch.volume_above_mm3 =
            std::max(uneven, patch.area_mm2 * kBaseSag * patch.diameter_mm);
        return;
    }
    const double cap = cap_volume_mm3(patch.diameter_mm, rim.turn);
    patch.volume_below_mm3 =
        patch.volume_change_mm3 - std::min({0.0, patch.volume_change_mm3, cap}) + uneven;
    patch.volume_above_mm3 =
        std::max({0.0, patch.volume_change_mm3, cap}) - patch.volume_change_mm3 + uneven;
}

}  // namespace

HoleFilling fill_holes(const TriMesh& mesh, const HoleOptions& options, const RunContext& context) {
    HoleFilling result;
    result.mesh = mesh;
    const Adjacency adjacent = adjacency(mesh);
    const double extent = bounds(mesh).size().maxCoeff();
    const VertexTriangles at = triangles_at_vertices(mesh);
    const auto loops = border_loops(mesh, adjacent);
    std::vector<Rim> rims;
    for (const auto& loop : loops) {
        rims.push_back(measure_rim(mesh, loop, at));
    }
    const auto close_rings = [&](std::size_t i) {
        for (std::size_t j = 0; j < rims.size(); ++j) {
            const bool fits = i != j && !rims[i].vertices.empty() && rims[i].vertices.size() >= 3 &&
                              rims[j].vertices.size() >= 3 &&
                              rims[i].vertices.size() + rims[j].vertices.size() < kCubicSearch &&
                              ring_of(mesh, rims[i], rims[j]);
            if (!fits) {
                continue;
            }
            const Rim both = bridged(mesh, rims[i], rims[j]);
            const std::vector<Triangle> triangles = plain_patch(mesh, both, false);
            Patch patch;
            patch.kind = PatchKind::base;
            patch.center_mm = both.center;
            patch.rim_edges = rims[i].vertices.size() + rims[j].vertices.size();
            patch.rim_mm = both.length_mm;
            patch.diameter_mm = 2.0 * std::sqrt(both.flat_area_mm2 / std::numbers::pi);
            const bool too_wide = options.largest_rim_diameter_mm > 0.0 &&
                                  patch.diameter_mm > options.largest_rim_diameter_mm;
            if (triangles.empty() || too_wide) {
                continue;
            }
            measure_patch(patch, mesh, triangles, both);
            result.mesh.triangles.insert(result.mesh.triangles.end(), triangles.begin(),
                                         triangles.end());
            result.patches.push_back(patch);
            rims[i].vertices.clear();
            rims[j].vertices.clear();
        }
    };
    for (std::size_t i = 0; rims.size() <= kMostRimsForRings && i < rims.size(); ++i) {
        close_rings(i);
    }
    for (std::size_t i = 0; i < loops.size(); ++i) {
        context.report("closing holes", static_cast<double>(i) / static_cast<double>(loops.size()));
        const Rim& rim = rims[i];
        if (rim.vertices.empty()) {
            continue;  // closed as a ring
        }
        Patch patch;
        patch.center_mm = rim.center;
        patch.rim_edges = rim.vertices.size();
        patch.rim_mm = rim.length_mm;
        patch.diameter_mm = 2.0 * std::sqrt(rim.flat_area_mm2 / std::numbers::pi);
        const bool flat = rim.unevenness_mm <= kFlatShare * patch.diameter_mm;
        const bool too_wide = options.largest_rim_diameter_mm > 0.0 &&
                              patch.diameter_mm > options.largest_rim_diameter_mm;
        if (too_wide || rim.vertices.size() < 3) {
            result.left_open.push_back(patch);
            continue;
        }
        std::vector<Triangle> triangles;
        if (flat && patch.diameter_mm > kBaseShare * extent && std::abs(rim.turn) > kBaseTurn) {
            patch.kind = PatchKind::base;
            triangles = plain_patch(result.mesh, rim, true);
        } else if (rim.vertices.size() > kPlainRim && options.faired) {
            patch.kind = PatchKind::faired;
            triangles = faired_patch(result.mesh, at, rim);
        }
        if (triangles.empty()) {
            patch.kind = patch.kind == PatchKind::base ? PatchKind::base : PatchKind::small;
            triangles = plain_patch(result.mesh, rim, false);
        }
        if (triangles.empty()) {
            result.left_open.push_back(patch);
            continue;
        }
        measure_patch(patch, result.mesh, triangles, rim);
        result.mesh.triangles.insert(result.mesh.triangles.end(), triangles.begin(),
                                     triangles.end());
        result.patches.push_back(patch);
    }
    return result;
}

}  // namespace cavigram
