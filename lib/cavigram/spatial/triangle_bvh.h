// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// The place on a surface nearest to a point.
struct NearestPoint {
    std::int32_t triangle = -1;                                    ///< -1: nothing within reach.
    Vec3 point_mm = Vec3::Zero();                                  ///< On the surface.
    double distance_mm = std::numeric_limits<double>::infinity();  ///< To it.
};

/// Where a ray meets a surface.
struct RayHit {
    std::int32_t triangle = -1;                          ///< -1: no hit.
    double t = std::numeric_limits<double>::infinity();  ///< The hit is at origin + t * direction.
    /// +1 where the ray leaves through the face (it runs along the outward normal), -1 where it
    /// enters; 0 without a hit.
    int sign = 0;
};

/// Which part of a ray counts, and which triangles are passed over.
struct RayLimits {
    double t_min = 0.0;  ///< At least 0. Hits at exactly t_min count.
    double t_max = std::numeric_limits<double>::infinity();  ///< Hits beyond do not count.
    std::int32_t skip_vertex = -1;  ///< Triangles at this vertex of the mesh are passed over. For
                                    ///< rays that start on a vertex.
    std::int32_t skip_triangle =
        -1;  ///< This triangle is passed over. For rays that start inside a triangle.
};

/// Answers about the triangles of one mesh: nearest point, first hit of a ray, inside or out.
///
/// A tree of boxes, four to a node, single precision and rounded outward, over a binned
/// surface-area split (Wald, "On fast construction of SAH-based bounding volume hierarchies",
/// 2007); what is inside the boxes is decided in double precision on the mesh's own coordinates.
/// Copies what it needs: the mesh may go. Answers depend on the mesh alone, never on threads. All
/// queries are const, thread-safe and allocate nothing.
///
/// \pre Coordinates of the mesh and of queries are finite and below 1e15. Memory about 130 bytes a
/// triangle, O(n log n) to build.
class TriangleBvh {
  public:
    /// An empty index: nothing is near, nothing is hit, everything is outside.
    TriangleBvh() = default;
    /// \throw Cancelled
    explicit TriangleBvh(const TriMesh& mesh, const RunContext& context = {});

    /// How many triangles.
    [[nodiscard]] std::size_t size() const { return slot_.size(); }
    /// Around all of them.
    [[nodiscard]] const Box3& bounds_mm() const { return bounds_; }

    /// The nearest point of the surface at a distance of at most `within_mm`.
    ///
    /// The very answer of trying all triangles with closest_point_on_triangle: the least computed
    /// distance, and among triangles at equal distance the smallest index. About O(log n).
    [[nodiscard]] NearestPoint nearest(
        const Vec3& p, double within_mm = std::numeric_limits<double>::infinity()) const;

    /// The same answer, found sooner when triangle `hint` is near `p`, as the answer for a
    /// neighboring point is. -1: no hint.
    [[nodiscard]] NearestPoint nearest(const Vec3& p, double within_mm, std::int32_t hint) const;

    /// A point of the surface at most 1 + `tolerance` times as far from `p` as the nearest one.
    ///
    /// Much sooner found than the nearest where much of the surface is about as far, as from the
    /// center of a ball.
    ///
    /// \pre tolerance >= 0
    [[nodiscard]] NearestPoint near_enough(const Vec3& p, double tolerance,
                                           std::int32_t hint = -1) const;

    /// The first triangle along a ray. Watertight: a ray can't slip between two triangles that
    /// share an edge (Woop, Benthin & Wald, J. Comput. Graph. Tech. 2(1), 2013, in double
    /// precision). Equal t goes to the smallest index; triangles seen exactly edge-on are not hit.
    ///
    /// \pre direction is not zero (any length); limits.t_min >= 0
    [[nodiscard]] RayHit first_hit(const Vec3& origin, const Vec3& direction,
                                   const RayLimits& limits = {}) const;

    /// Shows `visit` every triangle that a ray may meet, for callers with a rule of their own for
    /// what is a hit: all whose box, widened by 2^-44 of the part's scale, it passes through;
    /// nearer boxes tend to come first. `visit` gives back the t up to which triangles still
    /// matter, or infinity.
    ///
    /// \pre direction is not zero
    void along(const Vec3& origin, const Vec3& direction,
               const std::function<double(std::int32_t triangle)>& visit) const;

    /// How often the surface winds around `p`: 1 inside a plain closed part, 0 outside, 2 where two
    /// shells overlap, negative inside out.
    ///
    /// Signed crossings of the ray from `p` up the z axis. The plane test is exact, with ties
    /// broken by moving `p` an infinitesimal in x and a smaller one in y (Edelsbrunner & Muecke,
    /// ACM Trans. Graph. 9 (1990) 66), so rays through edges and vertices are counted right; only
    /// for a point within rounding of the surface itself either side may be given. Right for closed
    /// meshes; on open ones the answer depends on the axis. About O(log n + crossings).
    [[nodiscard]] int winding(const Vec3& p) const;

    /// winding(p) > 0.
    [[nodiscard]] bool inside(const Vec3& p) const { return winding(p) > 0; }

  private:
    [[nodiscard]] NearestPoint search(const Vec3& p, double within_mm, double share,
                                      std::int32_t hint) const;

    // Children of a node: a node again (count 0, first = its number), a pack of `count` triangles
    // (first = its number), or none (count 0, first -1). Boxes are about origin_. Besides its box
    // each child lies between two planes across its mean normal: a patch that is tilted against the
    // axes fills its box badly, but hugs its planes.
    struct alignas(64) Node {
        float low[3][4];
        float high[3][4];
        float normal[3][4];
        float least[4];
        float most[4];
        std::int32_t first[4];
        std::int32_t count[4];
    };
    // Four triangles in single precision, for telling quickly which of them can matter: corner a
    // about origin_, edges to b and c, unit normal, and 1 / length^2 of the edges ab, bc, ca (0 for
    // a point).
    struct alignas(64) Pack {
        float corner[3][4];
        float to_b[3][4];
        float to_c[3][4];
        float normal[3][4];
        float per_length2[3][4];
        std::int32_t id[4];  // -1: lane not in use
    };
    struct Corners {
        const Vec3& a;
        const Vec3& b;
        const Vec3& c;
    };
    [[nodiscard]] Corners corners(std::size_t slot) const {
        const Triangle& t = triangles_[slot];
        return {vertices_[static_cast<std::size_t>(t[0])],
                vertices_[static_cast<std::size_t>(t[1])],
                vertices_[static_cast<std::size_t>(t[2])]};
    }
    friend class BvhBuilder;
    friend class BvhQuery;

    Box3 bounds_;
    Vec3 origin_ = Vec3::Zero();
    std::vector<Node> nodes_;  // nodes_[0] is the root
    std::vector<Pack> packs_;
    // As in the mesh. Corners are looked up by number: six triangles share each, so that keeping
    // them with every triangle would take half as much again as all the rest.
    std::vector<Vec3> vertices_;
    std::vector<Triangle> triangles_;  // four for each pack
    std::vector<std::int32_t> slot_;   // where each triangle of the mesh lies: 4 * pack + lane
};

/// The winding number of `p` as the sum of all solid angles over 4 pi: whole for closed meshes, in
/// between on open ones (Jacobson, Kavan & Sorkine-Hornung, ACM Trans. Graph. 32 (2013) 33). O(n)
/// for each call: for checks and for surfaces with gaps, not for millions of points.
[[nodiscard]] double winding_number(const TriMesh& mesh, const Vec3& p);

}  // namespace cavigram
