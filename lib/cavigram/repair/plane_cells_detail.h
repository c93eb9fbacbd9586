// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "cavigram/repair/exact_points_detail.h"

namespace cavigram {

/// A segment, or a single point if both ends are one, in the plane of a task.
struct PlaneSegment {
    std::int32_t from = -1;  ///< Numbers of points in the caller's list.
    std::int32_t to = -1;
    /// An edge of the mesh, from its first vertex to its second; or else the triangle of another
    /// plane that cuts the segment out of this one.
    std::array<std::int32_t, 2> edge{-1, -1};
    std::int32_t plane = -1;
};

/// Triangles that lie in one plane and overlap (mostly just one), and what crosses them.
struct PlaneTask {
    std::vector<std::int32_t> triangles;
    std::vector<PlaneSegment> segments;
};

/// A piece of the plane that is covered `multiplicity` times more often by triangles that look the
/// way it does than by such as look the other way.
struct PlaneFace {
    std::array<std::int32_t, 3> points{};  ///< Numbers in PlaneCells::points.
    std::int32_t multiplicity = 0;         ///< At least 1.
};

struct PlaneCells {
    std::vector<ExactPoint> points;
    std::vector<std::int32_t> known;  ///< For each, its number in the caller's list, or -1.
    std::vector<PlaneFace> faces;
    bool failed = false;  ///< Segments were left that cross: never seen, but not trusted blindly.
};

/// Cuts the triangles of a task along all of its segments. Exact; the corners of the triangles are
/// points number `vertex` in the list. O(n log n + overlapping boxes of segments).
[[nodiscard]] PlaneCells plane_cells(const PlaneTask& task, const ExactPoints& exact,
                                     const std::vector<ExactPoint>& points);

}  // namespace cavigram
