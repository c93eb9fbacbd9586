// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/wrap.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>
#include <random>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Surface_mesh.h>
#include <CGAL/alpha_wrap_3.h>

#include "cavigram/core/parallel.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/mesh/manifold.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/part_maker_detail.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;
using Surface = CGAL::Surface_mesh<Kernel::Point_3>;

constexpr double kMostTriangles = 150000.0;
constexpr double kOffsetShare = 30.0;  // alpha over offset
constexpr double kFineShare =
    0.01;  // of the diagonal: large flat triangles are no sign of a coarse scan
constexpr double kReach = 1.5;  // offsets
constexpr double kLeastOfSolid = 0.9;
constexpr double kMostBelow = 0.5;  // of the volume
constexpr std::size_t kThinRays = 5000;
constexpr std::size_t kPoints = 1000;
constexpr std::size_t kFewTriangles = 50000;
constexpr int kHalvings = 6;

double median_edge_mm(const TriMesh& mesh) {
    std::vector<double> lengths;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        for (int i = 0; i < 3; ++i) {
            lengths.push_back((mesh.corner(t, (i + 1) % 3) - mesh.corner(t, i)).norm());
        }
    }
    const auto middle = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 2);
    std::nth_element(lengths.begin(), middle, lengths.end());
    return *middle;
}

double area_mm2(const TriMesh& mesh) {
    double sum = 0.0;
    for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
        sum += 0.5 *
               double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2)).norm();
    }
    return sum;
}

// Rays from the surface inward: how far the shortest hundredth of them gets. Infinite if they meet
// nothing.
double thinnest_mm(const TriMesh& mesh, const TriangleBvh& tree) {
    std::vector<double> lengths;
    const std::size_t stride = mesh.triangles.size() / kThinRays + 1;
    for (std::size_t t = 0; t < mesh.triangles.size(); t += stride) {
        const Vec3 normal =
            double_area_vector(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
        if (!(normal.norm() > 0.0)) {
            continue;
        }
        RayLimits limits;
        limits.skip_triangle = static_cast<std::int32_t>(t);
        const RayHit hit =
            tree.first_hit((mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0,
                           -normal.normalized(), limits);
        if (hit.triangle >= 0) {
            lengths.push_back(hit.t);
        }
    }
    if (lengths.empty()) {
        return std::numeric_limits<double>::infinity();
    }
    const auto low = lengths.begin() + static_cast<std::ptrdiff_t>(lengths.size() / 100);
    std::nth_element(lengths.begin(), low, lengths.end());
    return *low;
}

TriMesh raw_wrap(const TriMesh& mesh, double alpha, double offset) {
    std::vector<Kernel::Point_3> points;
    for (const Vec3& p : mesh.vertices) {
        points.emplace_back(p.x(), p.y(), p.z());
    }
    std::vector<std::vector<std::size_t>> faces;
    for (const Triangle& t : mesh.triangles) {
        const auto point = [&](std::size_t i) -> const Kernel::Point_3& {
            return points[static_cast<std::size_t>(t[i])];
        };
        if (CGAL::collinear(point(0), point(1), point(2))) {
            continue;  // CGAL leaves these out itself, but crashes when none remains
        }
        faces.push_back({static_cast<std::size_t>(t[0]), static_cast<std::size_t>(t[1]),
                         static_cast<std::size_t>(t[2])});
    }
    if (faces.empty()) {
        return {};
    }
    Surface surface;
    CGAL::alpha_wrap_3(points, faces, alpha, offset, surface);
    TriMesh wrap;
    for (const Surface::Vertex_index v : surface.vertices()) {
        const auto& p = surface.point(v);
        wrap.vertices.emplace_back(p.x(), p.y(), p.z());
    }
    for (const Surface::Face_index f : surface.faces()) {
        const auto h = surface.halfedge(f);
        const auto index = [](Surface::Vertex_index v) {
            return static_cast<std::int32_t>(v.idx());
        };
        wrap.triangles.push_back({index(surface.source(h)), index(surface.target(h)),
                                  index(surface.target(surface.next(h)))});
    }
    return wrap;
}

struct Landing {
    std::vector<Vec3> target;           // On the input, or the vertex itself.
    std::vector<std::uint8_t> beneath;  // Whether there is input beneath the vertex.
};

Landing landing_on(const TriMesh& wrap, const TriangleBvh& tree, double reach,
                   const RunContext& context) {
    std::vector<Vec3> normal(wrap.vertices.size(), Vec3::Zero());
    for (std::size_t t = 0; t < wrap.triangles.size(); ++t) {
        const Vec3 area =
            double_area_vector(wrap.corner(t, 0), wrap.corner(t, 1), wrap.corner(t, 2));
        for (const std::int32_t v : wrap.triangles[t]) {
            normal[static_cast<std::size_t>(v)] += area;
        }
    }
    Landing landing{wrap.vertices, std::vector<std::uint8_t>(wrap.vertices.size(), 0)};
    for_blocks(wrap.vertices.size(), 1024, context, [&](const Block& block) {
        for (std::size_t v = block.begin; v < block.end; ++v) {
            const NearestPoint near = tree.nearest(wrap.vertices[v], reach);
            if (near.triangle < 0) {
                continue;
            }
            // The wrap lies outward of the input: the way to it must run against the wrap's normal.
            // The input's own normals may be wrong.
            const Vec3 way = near.point_mm - wrap.vertices[v];
            if (way.dot(normal[v]) <= -0.5 * way.norm() * normal[v].norm()) {
                landing.target[v] = near.point_mm;
                landing.beneath[v] = 1;
            }
        }
    });
    return landing;
}

std::vector<bool> corners_of(const TriMesh& mesh, const std::vector<CrossingPair>& pairs) {
    std::vector<bool> touched(mesh.vertices.size(), false);
    for (const CrossingPair& pair : pairs) {
        for (const std::int32_t t : pair) {
            for (const std::int32_t v : mesh.triangles[static_cast<std::size_t>(t)]) {
                touched[static_cast<std::size_t>(v)] = true;
            }
        }
    }
    return touched;
}

// Brings vertices onto the input, those that would make faces cross only part of the way; gives
// back which of them have input beneath.
std::vector<bool> settle(TriMesh& wrap, const TriangleBvh& tree, double reach,
                         const RunContext& context) {
    const auto [target, beneath] = landing_on(wrap, tree, reach, context);
    const std::vector<Vec3> start = wrap.vertices;
    std::vector<double> step(wrap.vertices.size(), 1.0);
    for (int round = 0; round <= kHalvings; ++round) {
        for (std::size_t v = 0; v < start.size(); ++v) {
            wrap.vertices[v] = start[v] + step[v] * (target[v] - start[v]);
        }
        const auto pairs = crossing_pairs(wrap, adjacency(wrap), context);
        if (pairs.empty()) {
            break;
        }
        const std::vector<bool> touched = corners_of(wrap, pairs);
        for (std::size_t v = 0; v < start.size(); ++v) {
            if (touched[v]) {
                step[v] = round + 1 >= kHalvings ? 0.0 : 0.5 * step[v];
            }
        }
    }
    return {beneath.begin(), beneath.end()};
}

}  // namespace

std::optional<Wrap> wrap_around(const TriMesh& mesh, double solid_volume_mm3,
                                const RunContext& context) {
    context.report("wrapping", 0.0);
    Wrap result;
    // Triangles of edge e cover 0.43 e^2 each; the wrap's edges are about 0.7 alpha, as measured,
    // so it has some 5 A / alpha^2 of them.
    const double coarsest = std::sqrt(5.0 * area_mm2(mesh) / kMostTriangles);
    const TriangleBvh tree(mesh);
    result.alpha_mm = std::max(
        coarsest, std::min({2.0 * median_edge_mm(mesh), kFineShare * bounds(mesh).diagonal().norm(),
                            0.5 * thinnest_mm(mesh, tree)}));
    result.offset_mm = result.alpha_mm / kOffsetShare;
    result.mesh = cut_to_manifold(raw_wrap(mesh, result.alpha_mm, result.offset_mm)).mesh;
    context.check_stop();
    if (result.mesh.triangles.empty() || !adjacency(result.mesh).closed()) {
        return std::nullopt;
    }
    result.raw_volume_mm3 = signed_volume_mm3(result.mesh);
    if (result.raw_volume_mm3 < kLeastOfSolid * solid_volume_mm3) {
        return std::nullopt;
    }
    const double reach = kReach * result.offset_mm;
    const std::vector<bool> beneath = settle(result.mesh, tree, reach, context);
    for (std::size_t t = 0; t < result.mesh.triangles.size(); ++t) {
        const Triangle& corners = result.mesh.triangles[t];
        const Vec3 middle =
            (result.mesh.corner(t, 0) + result.mesh.corner(t, 1) + result.mesh.corner(t, 2)) / 3.0;
        // A triangle whose corners have settled may still span a hollow.
        if (tree.nearest(middle, reach).triangle < 0 ||
            std::any_of(corners.begin(), corners.end(),
                        [&](std::int32_t v) { return !beneath[static_cast<std::size_t>(v)]; })) {
            const Vec3 area =
                0.5 * double_area_vector(result.mesh.corner(t, 0), result.mesh.corner(t, 1),
                                         result.mesh.corner(t, 2));
            const RayHit ground = tree.first_hit(middle, -area);
            result.invented_mm2 += area.norm();
            result.bridged_mm3 +=
                area.norm() * (ground.triangle >= 0 ? ground.t * area.norm() : result.alpha_mm);
        }
    }
    result.volume_mm3 = signed_volume_mm3(result.mesh);
    result.volume_above_mm3 = std::max(0.0, result.raw_volume_mm3 - result.volume_mm3);
    result.volume_below_mm3 = result.volume_above_mm3 + result.bridged_mm3;
    if (!(result.volume_below_mm3 < kMostBelow * result.volume_mm3)) {
        return std::nullopt;
    }
    return result;
}

double winding_volume_mm3(const TriMesh& mesh, const RunContext& context) {
    const Box3 box = bounds(mesh);
    const std::size_t stride = (mesh.triangles.size() + kFewTriangles - 1) / kFewTriangles;
    std::mt19937_64 random(2);  // fixed seed
    const auto unit = [&] { return static_cast<double>(random() >> 11) * 0x1p-53; };
    std::vector<Vec3> points;
    for (std::size_t i = 0; i < kPoints; ++i) {
        points.push_back(box.min() + Vec3(unit(), unit(), unit()).cwiseProduct(box.sizes()));
    }
    const auto inside = map_blocks<std::size_t>(kPoints, 32, context, [&](const Block& block) {
        std::size_t count = 0;
        for (std::size_t i = block.begin; i < block.end; ++i) {
            double angle = 0.0;
            for (std::size_t t = 0; t < mesh.triangles.size(); t += stride) {
                angle +=
                    solid_angle(points[i], mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2));
            }
            count +=
                std::abs(angle) * static_cast<double>(stride) >= 2.0 * std::numbers::pi ? 1 : 0;
        }
        return count;
    });
    const auto count = std::accumulate(inside.begin(), inside.end(), std::size_t{0});
    return box.sizes().prod() * static_cast<double>(count) / static_cast<double>(kPoints);
}

}  // namespace cavigram
