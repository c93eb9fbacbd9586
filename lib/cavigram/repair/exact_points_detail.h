// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// What defines a point exactly, always in terms of a mesh's own corners and triangles, never of
/// other made points.
struct PointOrigin {
    enum class Construction : std::int32_t {
        corner,      ///< of[0]: a vertex.
        edge_plane,  ///< The line through vertices of[0] < of[1], and the plane of triangle of[2].
        edge_edge,   ///< Two lines in one plane: vertices of[0] < of[1] and of[2] < of[3].
        three_planes,  ///< Of triangles of[0] < of[1] < of[2].
    };
    Construction kind = Construction::corner;
    std::array<std::int32_t, 4> of{-1, -1, -1, -1};

    friend bool operator==(const PointOrigin&, const PointOrigin&) = default;
};

[[nodiscard]] PointOrigin corner_point(std::int32_t vertex);
[[nodiscard]] PointOrigin edge_plane_point(std::int32_t a, std::int32_t b, std::int32_t triangle);
[[nodiscard]] PointOrigin edge_edge_point(std::int32_t a, std::int32_t b, std::int32_t c,
                                          std::int32_t d);
[[nodiscard]] PointOrigin three_planes_point(std::int32_t r, std::int32_t s, std::int32_t t);

/// A point as defined, and its coordinates correctly rounded. Rounding keeps order, so unequal
/// rounded coordinates settle the order of the exact ones, and equal points have equal rounded
/// coordinates.
struct ExactPoint {
    PointOrigin origin;
    Vec3 near = Vec3::Zero();
};

/// A mesh whose corners are whole numbers of at most 53 bits and a sign, and exact questions about
/// the points that its edges and planes define.
///
/// Corners of 54 bits give plane normals of 110, edge-plane points over denominators of 166 and
/// three-plane points over 333; the largest determinant asked for needs less than 1,200 bits, so
/// numbers of fixed width never overflow.
///
/// \pre the mesh outlives this; triangles whose planes are used have area
class ExactPoints {
  public:
    explicit ExactPoints(const TriMesh& mesh) : mesh_(mesh) {}

    [[nodiscard]] const TriMesh& mesh() const { return mesh_; }
    /// The point with its coordinates correctly rounded. About 1 microsecond if not a corner.
    [[nodiscard]] ExactPoint made(const PointOrigin& origin) const;
    [[nodiscard]] bool equal(const ExactPoint& p, const ExactPoint& q) const;
    /// Sign of p[axis] - q[axis].
    [[nodiscard]] int compare(const ExactPoint& p, const ExactPoint& q, int axis) const;
    /// Seen along `axis` from its end: 1 where p, q, r turn left, -1 right, 0 in line.
    [[nodiscard]] int turn(const ExactPoint& p, const ExactPoint& q, const ExactPoint& r,
                           int axis) const;
    /// 1 where s surely lies within the circle of p, q, r as seen along `axis`, -1 where surely
    /// not, 0 where double precision can't tell.
    ///
    /// \pre p, q, r turn left
    [[nodiscard]] int surely_in_circle(const ExactPoint& p, const ExactPoint& q,
                                       const ExactPoint& r, const ExactPoint& s, int axis) const;
    /// The axis along which the triangle's plane is seen widest.
    [[nodiscard]] int widest_axis(std::int32_t triangle) const;

  private:
    const TriMesh& mesh_;
};

}  // namespace cavigram
