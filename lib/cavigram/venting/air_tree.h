// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/directions.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/repair/part.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// The join tree of the height over a solid, for one way up: which air is connected above each
/// level.
///
/// Let a level rise through the solid. The air above it falls into connected pieces; a piece is an
/// arc of this tree from the saddle where it parts from the rest (its lower end) up to its own top.
/// Every leaf is a place where air is caught last. Heights are `up . x` in mm, in the part's own
/// coordinates. With the direction turned about (-up) the same tree speaks of the pools that a
/// liquid makes.
struct AirTree {
    /// A connected piece of the air above a level.
    struct Arc {
        std::int32_t parent = -1;         ///< The arc it joins lower down; -1 for a root.
        std::int32_t peak_vertex = -1;    ///< Highest vertex of the whole piece above the saddle.
        std::int32_t saddle_vertex = -1;  ///< Where it joins its parent; a root's lowest vertex.
        double peak_height_mm = 0.0;      ///< Of the peak vertex.
        double top_height_mm =
            0.0;  ///< Where the arc begins: its peak, or where its children meet.
        double saddle_height_mm = 0.0;  ///< Height of the saddle vertex.
        double volume_mm3 = 0.0;        ///< Of the whole piece above the saddle, children included.
        double own_mm3 = 0.0;           ///< Of the arc alone, from its saddle to its top.
    };

    Vec3 up = Vec3::UnitZ();                  ///< Unit.
    std::vector<Arc> arcs;                    ///< Children before parents.
    std::vector<std::int32_t> roots;          ///< One for each solid.
    std::vector<std::int32_t> arc_of_vertex;  ///< -1 for a vertex that no triangle uses.
    double volume_mm3 = 0.0;                  ///< Of all roots.
    std::size_t rays = 0;                     ///< Roofs of holes, each linked upward by one ray.
    /// Rays that found nothing above them. Always 0 on a surface that does not cross itself; such a
    /// piece stays a root of its own.
    std::size_t lost_rays = 0;
};

/// What an AirTreeBuilder is told beyond the mesh.
struct AirTreeOptions {
    /// Pairs of vertices that are connected although no edge links them. For a mesh that crosses
    /// itself, see crossing_edges; a Part's own crossings are added without being asked for. Where
    /// it covers space twice, volumes still count it twice.
    std::vector<std::array<std::int32_t, 2>> extra_edges = {};
};

/// Extra edges for pairs of triangles that cross: each corner of one with each of the other,
/// without repeats. The two are then connected from the lower of their tops down: for crossings of
/// small triangles, from about where they cross.
///
/// O(pairs log pairs).
///
/// \pre triangles in range
[[nodiscard]] std::vector<std::array<std::int32_t, 2>> crossing_edges(
    const TriMesh& mesh, std::span<const std::array<std::int32_t, 2>> crossing_triangles);

/// Scratch memory of AirTreeBuilder::build. One for each thread; may be used again for any builder.
class AirTreeWorkspace {
  private:
    friend class AirTreeBuilder;
    friend class AirTreeSweep;

    struct Entry {
        std::uint32_t key = 0;
        std::int32_t vertex = 0;
    };
    std::vector<double> height_;  // of each vertex above the box center
    std::vector<Entry> order_;    // from the top down
    std::vector<Entry> spare_;
};

/// Builds air trees of one solid for many directions. For a single one there is air_tree().
///
/// Method: a sweep over the vertices from the top down with union-find over the surface's edges
/// (Carr, Snoeyink & Axen, Comput. Geom. 24 (2003) 75), and for each local maximum under solid (the
/// roof of a hole) one more link, to the top of the first triangle straight above it. The surface
/// and these links alone have the connected pieces of the solid; no mesh of the inside is needed.
/// Volumes are in closed form for each triangle. Equal heights are told apart by turning the
/// direction an infinitesimal toward local x and a smaller one toward y, so level ceilings need no
/// care and the tree does not depend on the order of vertices. The combinatorial decisions are
/// exact for the vertices as turned to the direction and rounded to doubles; volumes carry rounding
/// only.
///
/// Not thread-safe to build, but build() is const and may run on many threads, each with its own
/// workspace.
///
/// O(n) to make plus the BVH's O(n log n); memory about 200 bytes a triangle, 40 where mesh and
/// index are shared.
class AirTreeBuilder {
  public:
    /// \pre closed, outward oriented, manifold; it may have several shells and hollows.
    ///
    /// \throw UnusableInput if an edge has not exactly two triangles or a vertex more than one fan.
    ///
    /// \throw InvalidInput for an extra edge out of range.
    ///
    /// \throw Cancelled
    explicit AirTreeBuilder(const TriMesh& mesh_mm, const AirTreeOptions& options = {},
                            const RunContext& context = {});
    /// As above; the part's crossings, if any are left, are connected by crossing_edges.
    explicit AirTreeBuilder(const Part& part, const AirTreeOptions& options = {},
                            const RunContext& context = {});
    /// As above, with the index of the part's surface, which is there already. Both are kept.
    ///
    /// \pre `surface` is the index of the part's mesh; neither is null
    AirTreeBuilder(std::shared_ptr<const Part> part, std::shared_ptr<const TriangleBvh> surface,
                   const AirTreeOptions& options = {}, const RunContext& context = {});

    /// The tree for one way up (any length but zero).
    ///
    /// O(n) radix sort and sweep, plus one ray for each roof of a hole.
    ///
    /// \throw InvalidInput for a direction that is zero or not finite
    [[nodiscard]] AirTree build(const Vec3& up, AirTreeWorkspace& workspace) const;
    /// As above, with scratch memory of its own.
    [[nodiscard]] AirTree build(const Vec3& up) const;

    /// One tree for each direction, on the context's threads.
    ///
    /// \throw Cancelled
    [[nodiscard]] std::vector<AirTree> build(std::span<const Vec3> ups,
                                             const RunContext& context = {}) const;

    /// Volume of the part of `arc`'s piece (children included) that lies above a level.
    ///
    /// The level is taken within the piece: below its saddle the whole piece counts.
    ///
    /// O(triangles).
    [[nodiscard]] double volume_above_mm3(const AirTree& tree, std::int32_t arc,
                                          double level_mm) const;

    /// The piece of air at a point of the surface, given as a triangle and a height on it.
    [[nodiscard]] std::int32_t arc_at(const AirTree& tree, std::int32_t triangle,
                                      double height_mm) const;

    /// The solid's surface.
    [[nodiscard]] const TriMesh& mesh() const { return *mesh_; }
    /// The index of its triangles.
    [[nodiscard]] const TriangleBvh& bvh() const { return *bvh_; }
    /// The box around it.
    [[nodiscard]] const Box3& bounds_mm() const { return bvh_->bounds_mm(); }
    /// Neighbors of a vertex, counter-clockwise seen from outside; with each next one they make the
    /// vertex's triangles.
    [[nodiscard]] std::span<const std::int32_t> around(std::int32_t vertex) const;

  private:
    friend class AirTreeSweep;

    void index_part(const Part& part, const AirTreeOptions& options, const RunContext& context);
    void index(const Adjacency& adjacent, const AirTreeOptions& options, const RunContext& context);
    void add_extra_edges(const AirTreeOptions& options);

    std::shared_ptr<const TriMesh> mesh_;
    std::shared_ptr<const TriangleBvh> bvh_;
    Vec3 center_mm_ = Vec3::Zero();  // heights are taken from here, so that far-off parts lose none
    std::vector<Vec3> double_area_;  // of each triangle, as a vector along its normal
    std::vector<std::int32_t> row_;  // where each vertex's neighbors begin; one more than vertices
    std::vector<std::int32_t> ring_;
    std::vector<std::int32_t> extra_row_;  // as above for extra edges; empty when there are none
    std::vector<std::int32_t> extra_;
};

/// The air tree for one way up.
///
/// \throw as AirTreeBuilder
[[nodiscard]] AirTree air_tree(const TriMesh& mesh_mm, const Vec3& up,
                               const AirTreeOptions& options = {}, const RunContext& context = {});
[[nodiscard]] AirTree air_tree(const Part& part, const Vec3& up, const AirTreeOptions& options = {},
                               const RunContext& context = {});

}  // namespace cavigram
