// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/holes.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numbers>
#include <optional>
#include <set>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Polygon_mesh_processing/triangulate_hole.h>
#include <CGAL/Surface_mesh.h>

#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/manifold.h"
#include "cavigram/repair/continuation_detail.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/repair/rims_detail.h"
#include "cavigram/repair/workpiece_detail.h"

namespace cavigram {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;

constexpr std::size_t kPlainRim = 8;  // edges; too few to tell a shape from
constexpr double kBaseShare = 0.3;    // of the part's largest extent
constexpr double kBaseTurn =
    1.05;  // radians, 60 degrees: a side that leans less runs on, one that leans more was cut off
constexpr double kBaseSag =
    0.02;  // of the diameter: how uneven a foot may be; common practice, no source
constexpr double kBaseLost =
    0.035;  // of the diameter: what of the sides above the table may be lost; no source
constexpr double kLargeShare = 0.01;  // of the area
constexpr double kLimbTurn = 0.96;    // radians: the surface runs out of the hole, sine 0.82
constexpr double kLimbGrowth = 0.35;
constexpr double kBallTrial = 0.03;  // of the volume that the patch adds
constexpr double kFacing = 0.6;      // cosine
constexpr double kCrumpled = 0.5;    // of a circle's area for its length
constexpr int kRings = 3;            // fairing to tangent continuity looks two rings beyond the rim
constexpr std::size_t kMostRimsForRings = 64;  // beyond, it is a sieve and no foot
constexpr std::size_t kCubicSearch =
    500;  // rim edges; beyond, CGAL's exhaustive search would seem to hang

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
    for (const std::int32_t t : triangles_near(mesh, at, rim.vertices, kRings)) {
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

// The surface curves over toward the hole as a ball does, that is by the sine of its lean: it ran
// on, and was not cut off.
bool runs_on(const Rim& rim) {
    const double ball = std::sin(rim.turn);
    return rim.turn > 0.0 && rim.bend > 0.3 * ball && rim.bend < 2.0 * ball;
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
        patch.volume_below_mm3 = std::max(uneven, patch.area_mm2 * kBaseSag * patch.diameter_mm);
        patch.volume_above_mm3 =
            std::max({uneven, patch.area_mm2 * kBaseLost * patch.diameter_mm,
                      runs_on(rim) ? cap_volume_mm3(patch.diameter_mm, rim.turn) : 0.0});
        return;
    }
    const double cap = cap_volume_mm3(patch.diameter_mm, rim.turn);
    patch.volume_below_mm3 =
        patch.volume_change_mm3 - std::min({0.0, patch.volume_change_mm3, cap}) + uneven;
    patch.volume_above_mm3 =
        std::max({0.0, patch.volume_change_mm3, cap}) - patch.volume_change_mm3 + uneven;
}

// How many triangles of the patch cross each other or the surface around it.
std::size_t crossings_of(const TriMesh& mesh, const VertexTriangles& at, const Rim& rim,
                         const std::vector<Triangle>& patch, const RunContext& context) {
    TriMesh local;
    local.vertices = mesh.vertices;
    local.triangles = patch;
    for (const std::int32_t t : triangles_near(mesh, at, rim.vertices, kRings)) {
        local.triangles.push_back(mesh.triangles[static_cast<std::size_t>(t)]);
    }
    return crossing_pairs(local, adjacency(local), context).size();
}

// Carries the surface on across a faired patch and takes its range from the trials; false, and
// nothing changed, if that can't be done or makes triangles cross.
//
// Missing pieces are seldom flatter than their continuation and often fuller, so the range reaches
// up four times as far as down; the terms in the patch's own size were found on 20 shapes with
// holes of 2 to 25 % and held on 15 others.
bool carry_on_large(Patch& patch, TriMesh& mesh, const VertexTriangles& at, const Rim& rim,
                    const std::vector<Triangle>& triangles, std::size_t first, double volume_mm3,
                    const RunContext& context) {
    const std::vector<Vec3> before(mesh.vertices.begin() + static_cast<std::ptrdiff_t>(first),
                                   mesh.vertices.end());
    const std::size_t crossed = crossings_of(mesh, at, rim, triangles, context);
    const std::optional<LargePatch> large =
        carry_on(mesh, at, rim, triangles, first, patch.area_mm2, context);
    if (large && crossings_of(mesh, at, rim, triangles, context) > crossed) {
        std::copy(before.begin(), before.end(),
                  mesh.vertices.begin() + static_cast<std::ptrdiff_t>(first));
        return false;
    }
    if (!large) {
        return false;
    }
    const double uneven = patch.area_mm2 * rim.unevenness_mm;
    patch.volume_change_mm3 += large->moved_mm3;
    patch.carried_on = true;
    patch.trial_mm3 = large->trial_mm3;
    const double size = std::pow(patch.area_mm2, 1.5);
    const double trial = large->trial_mm3 >= 0.0 ? large->trial_mm3 : uneven;
    const double doubt = large->doubt_mm3 + trial + 0.002 * size;
    patch.volume_above_mm3 = 4.0 * doubt + 0.1 * size + 5e-4 * volume_mm3;
    patch.volume_below_mm3 = doubt + 0.01 * size + 5e-4 * volume_mm3;
    if (patch.limb || patch.crumpled) {  // or it ends right there
        patch.volume_below_mm3 = std::max(patch.volume_below_mm3, patch.volume_change_mm3);
    }
    return true;
}

// A flat wide rim whose sides curve over may be a foot or the rest of a ball. It is the latter if
// pieces cut for trial elsewhere come back within a few hundredths of what the patch adds.
std::vector<Triangle> ball_patch(Patch& patch, TriMesh& mesh, const VertexTriangles& at,
                                 const Rim& rim, double volume_mm3, const RunContext& context) {
    const std::size_t first = mesh.vertices.size();
    std::vector<Triangle> triangles = faired_patch(mesh, at, rim);
    Patch trial = patch;
    trial.kind = PatchKind::faired;
    if (!triangles.empty()) {
        measure_patch(trial, mesh, triangles, rim);
        if (carry_on_large(trial, mesh, at, rim, triangles, first, volume_mm3, context) &&
            trial.trial_mm3 >= 0.0 && trial.trial_mm3 < kBallTrial * trial.volume_change_mm3) {
            patch = trial;
            return triangles;
        }
    }
    mesh.vertices.resize(first);
    return {};
}

// Two rims that look at each other, as where a limb was cut through: what lay between may be
// missing, so the range of each reaches half way over.
void allow_for_bridges(std::vector<Patch>& patches) {
    for (std::size_t i = 0; i < patches.size(); ++i) {
        for (std::size_t k = i + 1; k < patches.size(); ++k) {
            const Vec3 way = patches[k].center_mm - patches[i].center_mm;
            const double small = std::min(patches[i].area_mm2, patches[k].area_mm2);
            const double large = std::max(patches[i].area_mm2, patches[k].area_mm2);
            if (patches[i].outward.dot(way) < kFacing * way.norm() ||
                patches[k].outward.dot(way) > -kFacing * way.norm() || small < 0.5 * large ||
                !patches[i].limb || !patches[k].limb) {
                continue;
            }
            for (Patch* patch : {&patches[i], &patches[k]}) {
                patch->volume_above_mm3 += 0.25 * (small + large) * way.norm();
            }
        }
    }
}

}  // namespace

HoleFilling fill_holes(const TriMesh& mesh, const HoleOptions& options, const RunContext& context) {
    HoleFilling result;
    result.mesh = mesh;
    const Adjacency adjacent = adjacency(mesh);
    const double extent = bounds(mesh).sizes().maxCoeff();
    const double whole_area = area_of(mesh);
    const double whole_volume = std::abs(signed_volume_mm3(mesh));
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
        patch.outward = rim.outward;
        patch.limb = rim.turn > kLimbTurn && rim.growth < kLimbGrowth && !runs_on(rim);
        patch.crumpled = rim.vertices.size() > kPlainRim && rim.roundness < kCrumpled;
        const std::size_t first = result.mesh.vertices.size();
        std::vector<Triangle> triangles;
        if (flat && patch.diameter_mm > kBaseShare * extent && std::abs(rim.turn) > kBaseTurn) {
            patch.kind = PatchKind::base;
            if (options.large && runs_on(rim)) {
                triangles = ball_patch(patch, result.mesh, at, rim, whole_volume, context);
            }
            if (triangles.empty()) {
                triangles = plain_patch(result.mesh, rim, true);
            }
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
        if (!patch.carried_on) {
            measure_patch(patch, result.mesh, triangles, rim);
        }
        if (options.large && !patch.carried_on && patch.kind == PatchKind::faired &&
            patch.area_mm2 > kLargeShare * whole_area) {
            carry_on_large(patch, result.mesh, at, rim, triangles, first, whole_volume, context);
        }
        result.mesh.triangles.insert(result.mesh.triangles.end(), triangles.begin(),
                                     triangles.end());
        result.patches.push_back(patch);
    }
    allow_for_bridges(result.patches);
    return result;
}

}  // namespace cavigram
