// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/venting/air_tree.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/parallel.h"
#include "cavigram/core/told.h"
#include "cavigram/geom/triangle.h"
#include "cavigram/mesh/adjacency.h"
#include "cavigram/venting/air_tree_detail.h"

namespace cavigram {

using detail::at;
using detail::dot;

AirTreeBuilder::AirTreeBuilder(const TriMesh& mesh_mm, const AirTreeOptions& options,
                               const RunContext& context)
    : mesh_(std::make_shared<const TriMesh>(mesh_mm)),
      bvh_(std::make_shared<const TriangleBvh>(mesh_mm, context)) {
    index(adjacency(mesh_mm), options, context);
}

AirTreeBuilder::AirTreeBuilder(const Part& part, const AirTreeOptions& options,
                               const RunContext& context)
    : mesh_(std::make_shared<const TriMesh>(part.mesh())),
      bvh_(std::make_shared<const TriangleBvh>(part.mesh(), context)) {
    index_part(part, options, context);
}

AirTreeBuilder::AirTreeBuilder(std::shared_ptr<const Part> part,
                               std::shared_ptr<const TriangleBvh> surface,
                               const AirTreeOptions& options, const RunContext& context)
    : mesh_(part, &part->mesh()), bvh_(std::move(surface)) {
    index_part(*part, options, context);
}

void AirTreeBuilder::index_part(const Part& part, const AirTreeOptions& options,
                                const RunContext& context) {
    AirTreeOptions all = options;
    const auto joints = crossing_edges(part.mesh(), part.crossings());
    all.extra_edges.insert(all.extra_edges.end(), joints.begin(), joints.end());
    index(part.adjacent(), all, context);
}

void AirTreeBuilder::index(const Adjacency& adjacent, const AirTreeOptions& options,
                           const RunContext& context) {
    if (mesh_->triangles.empty()) {
        throw UnusableInput("The part has no triangles; read a mesh with a surface.");
    }
    if (!adjacent.closed()) {
        throw UnusableInput(fmt::format(
            "The surface is not closed: {} edges have no triangle across and {} have too "
            "many; mend it before asking for air pockets.",
            adjacent.border_halfedges, adjacent.irregular_halfedges));
    }
    context.check_stop();
    center_mm_ = bounds_mm().center();
    double_area_.reserve(mesh_->triangles.size());
    for (std::size_t t = 0; t < mesh_->triangles.size(); ++t) {
        double_area_.push_back(
            double_area_vector(mesh_->corner(t, 0), mesh_->corner(t, 1), mesh_->corner(t, 2)));
    }
    // Rows of neighbors in order around each vertex: turning about it from twin to twin.
    row_.assign(mesh_->vertices.size() + 1, 0);
    std::vector<std::int32_t> first(mesh_->vertices.size(), -1);
    for (std::size_t h = 3 * mesh_->triangles.size(); h-- > 0;) {
        const std::int32_t v = at(mesh_->triangles[h / 3], h % 3);
        ++row_[static_cast<std::size_t>(v) + 1];
        at(first, v) = static_cast<std::int32_t>(h);
    }
    for (std::size_t v = 0; v < mesh_->vertices.size(); ++v) {
        row_[v + 1] += row_[v];
    }
    ring_.reserve(3 * mesh_->triangles.size());
    for (std::size_t v = 0; v < mesh_->vertices.size(); ++v) {
        std::int32_t h = first[v];
        for (std::int32_t i = row_[v]; i < row_[v + 1]; ++i) {
            const std::int32_t end = next_halfedge(h);
            ring_.push_back(at(at(mesh_->triangles, end / 3), end % 3));
            h = at(adjacent.twin, previous_halfedge(h));
            // Back at the start too soon, or never: the vertex has more than one fan.
            if ((h == first[v]) != (i + 1 == row_[v + 1])) {
                const Vec3& p = mesh_->vertices[v];
                throw UnusableInput(fmt::format(
                    "At {} the surface touches itself in a single vertex; part it there before "
                    "asking for air pockets.",
                    told_place(p.x(), p.y(), p.z())));
            }
        }
    }
    add_extra_edges(options);
}

void AirTreeBuilder::add_extra_edges(const AirTreeOptions& options) {
    if (options.extra_edges.empty()) {
        return;
    }
    const auto count = static_cast<std::int32_t>(mesh_->vertices.size());
    extra_row_.assign(mesh_->vertices.size() + 1, 0);
    for (const auto& edge : options.extra_edges) {
        for (const std::int32_t v : edge) {
            if (v < 0 || v >= count || around(v).empty()) {
                throw InvalidInput(fmt::format(
                    "An extra edge names vertex {}, which is not on the surface; give two of its "
                    "vertices.",
                    v));
            }
            ++extra_row_[static_cast<std::size_t>(v) + 1];
        }
    }
    for (std::size_t v = 0; v < mesh_->vertices.size(); ++v) {
        extra_row_[v + 1] += extra_row_[v];
    }
    extra_.resize(2 * options.extra_edges.size());
    std::vector<std::int32_t> fill(extra_row_.begin(), extra_row_.end() - 1);
    for (const auto& [v, w] : options.extra_edges) {
        at(extra_, at(fill, v)++) = w;
        at(extra_, at(fill, w)++) = v;
    }
}

std::span<const std::int32_t> AirTreeBuilder::around(std::int32_t vertex) const {
    const std::int32_t begin = at(row_, vertex);
    return {ring_.data() + begin, static_cast<std::size_t>(at(row_, vertex + 1) - begin)};
}

AirTree AirTreeBuilder::build(const Vec3& up) const {
    AirTreeWorkspace workspace;
    return build(up, workspace);
}

std::vector<std::int32_t> detail::roots_of(std::span<const AirTree::Arc> arcs) {
    std::vector<std::int32_t> roots;
    for (std::size_t i = 0; i < arcs.size(); ++i) {
        if (arcs[i].parent < 0) {
            roots.push_back(static_cast<std::int32_t>(i));
        }
    }
    return roots;
}

std::vector<AirTree> AirTreeBuilder::build(std::span<const Vec3> ups,
                                           const RunContext& context) const {
    std::vector<AirTree> trees(ups.size());
    // A few directions share one workspace; the blocks are small so that all threads stay busy.
    for_blocks(ups.size(), 4, context, [&](const Block& block) {
        AirTreeWorkspace workspace;
        for (std::size_t i = block.begin; i < block.end; ++i) {
            trees[i] = build(ups[i], workspace);
        }
    });
    return trees;
}

double AirTreeBuilder::volume_above_mm3(const AirTree& tree, std::int32_t arc,
                                        double level_mm) const {
    std::vector<char> inside(tree.arcs.size(), 0);
    for (std::int32_t i = arc; i >= 0; --i) {
        const std::int32_t parent = at(tree.arcs, i).parent;
        at(inside, i) = i == arc || (parent >= 0 && at(inside, parent) != 0) ? 1 : 0;
    }
    const double level =
        std::max(level_mm, at(tree.arcs, arc).saddle_height_mm) - dot(tree.up, center_mm_);
    std::vector<double> height(mesh_->vertices.size());
    for (std::size_t v = 0; v < height.size(); ++v) {
        height[v] = dot(tree.up, mesh_->vertices[v] - center_mm_);
    }
    double volume = 0.0;
    for (std::size_t t = 0; t < mesh_->triangles.size(); ++t) {
        const detail::Sorted h(mesh_->triangles[t], height);
        if (h.a > level && at(inside, at(tree.arc_of_vertex, h.top)) != 0) {
            volume += 0.5 * dot(tree.up, double_area_[t]) * h.mean_above(level);
        }
    }
    return volume;
}

std::int32_t AirTreeBuilder::arc_at(const AirTree& tree, std::int32_t triangle,
                                    double height_mm) const {
    const Triangle& t = at(mesh_->triangles, triangle);
    const std::int32_t top = *std::max_element(t.begin(), t.end(), [&](auto v, auto w) {
        return dot(tree.up, at(mesh_->vertices, v)) < dot(tree.up, at(mesh_->vertices, w));
    });
    std::int32_t arc = at(tree.arc_of_vertex, top);
    while (at(tree.arcs, arc).parent >= 0 && at(tree.arcs, arc).saddle_height_mm > height_mm) {
        arc = at(tree.arcs, arc).parent;
    }
    return arc;
}

std::vector<std::array<std::int32_t, 2>> crossing_edges(
    const TriMesh& mesh, std::span<const std::array<std::int32_t, 2>> crossing_triangles) {
    std::vector<std::array<std::int32_t, 2>> edges;
    for (const auto& [s, t] : crossing_triangles) {
        for (const std::int32_t v : at(mesh.triangles, s)) {
            for (const std::int32_t w : at(mesh.triangles, t)) {
                if (v != w) {
                    edges.push_back({std::min(v, w), std::max(v, w)});
                }
            }
        }
    }
    std::sort(edges.begin(), edges.end());
    edges.erase(std::unique(edges.begin(), edges.end()), edges.end());
    return edges;
}

AirTree air_tree(const TriMesh& mesh_mm, const Vec3& up, const AirTreeOptions& options,
                 const RunContext& context) {
    return AirTreeBuilder(mesh_mm, options, context).build(up);
}

AirTree air_tree(const Part& part, const Vec3& up, const AirTreeOptions& options,
                 const RunContext& context) {
    return AirTreeBuilder(part, options, context).build(up);
}

}  // namespace cavigram
