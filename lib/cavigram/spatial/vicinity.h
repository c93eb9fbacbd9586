// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "cavigram/geom/vector.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// The branches of an index in which the nearest point lies, for all places in a ball: a search
/// that begins there passes over the way down to them.
///
/// For cells that are halved again and again: each one's vicinity is found within that of its
/// parent. 512 bytes, to be kept on the stack. The index must outlive it.
class Vicinity {
  public:
    /// All of an index.
    explicit Vicinity(const TriangleBvh& surface);

    /// That of the ball of `radius_mm` around `center`, of which the nearest point of the surface
    /// is known to be `nearest_mm` away.
    ///
    /// A place in the ball has that point within nearest + radius, so its own nearest point is no
    /// farther from the center than nearest + 2 radius: what lies beyond is left out.
    ///
    /// About the cost of one search.
    ///
    /// \pre the ball lies within that of this vicinity
    [[nodiscard]] Vicinity within(const Vec3& center, double nearest_mm, double radius_mm) const;

    /// As TriangleBvh::nearest, the very same answer, for `p` in the ball.
    [[nodiscard]] NearestPoint nearest(const Vec3& p, std::int32_t hint = -1) const;

    /// Four branches side by side, as in a node of the index (triangle_bvh.h).
    struct alignas(64) Row {
        float low[3][4];        ///< Boxes.
        float high[3][4];       ///< Boxes.
        float normal[3][4];     ///< Of the planes between which a branch lies as well.
        float least[4];         ///< The lower one.
        float most[4];          ///< The upper one.
        std::int32_t first[4];  ///< A node, or a pack of triangles.
        std::int32_t count[4];  ///< Triangles of a pack; 0 for a node.
    };

  private:
    static constexpr std::size_t kRows = 2;

    // NOLINTNEXTLINE(*-member-init): of `row_`, what is in use is filled
    Vicinity(const TriangleBvh& surface, std::size_t rows) : surface_(&surface), rows_(rows) {}

    const TriangleBvh* surface_;
    std::size_t rows_ = 0;
    std::array<Row, kRows> row_;  // as many as are in use
};

}  // namespace cavigram
