// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <unordered_map>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/repair/crossings.h"
#include "cavigram/repair/exact_points_detail.h"
#include "cavigram/repair/plane_cells_detail.h"

namespace cavigram {

/// Points without repetition: the mesh's corners first, under their own numbers, then what is made.
class PointList {
  public:
    explicit PointList(const ExactPoints& exact);

    [[nodiscard]] const std::vector<ExactPoint>& points() const { return points_; }
    /// A corner that made points may fall upon; others are not compared with.
    void offer(std::int32_t corner);
    /// The number of the point, which is added if none is equal to it.
    std::int32_t number(const ExactPoint& point);

  private:
    struct OriginHash {
        std::size_t operator()(const PointOrigin& origin) const;
    };

    const ExactPoints& exact_;
    std::vector<ExactPoint> points_;
    std::vector<bool> offered_;
    std::unordered_map<PointOrigin, std::int32_t, OriginHash> by_origin_;
    std::unordered_multimap<std::size_t, std::int32_t> by_place_;
};

[[nodiscard]] std::size_t place_hash(const Vec3& p);

/// Where the triangles of a mesh meet beyond what they share, sorted by planes.
struct Meetings {
    std::vector<PlaneTask> tasks;       ///< By their first triangle.
    std::vector<std::int32_t> task_of;  ///< For each triangle its task; -1 none, -2 has no area.
    bool failed = false;                ///< A pair meets in three points: never seen.
};

/// \pre `pairs` are all crossing pairs of the mesh, whose corners are whole numbers
[[nodiscard]] Meetings meetings(const ExactPoints& exact, const std::vector<CrossingPair>& pairs,
                                PointList& points, const RunContext& context);

}  // namespace cavigram
