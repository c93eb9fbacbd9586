// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/repair/exact_points_detail.h"

namespace cavigram {

/// A triangle of an arrangement: a whole one of the mesh or a piece.
struct ArrangedFace {
    std::array<std::int32_t, 3> points{};
    std::int32_t multiplicity = 1;  ///< How often the winding number falls on the way out.
    std::int32_t triangle = -1;     ///< One of the mesh in whose plane it lies.
    std::int32_t patch = -1;
};

/// The winding numbers before the faces of each patch.
class PatchWinding {
  public:
    /// `mesh` has whole-number corners, `real` is the same in millimeters.
    PatchWinding(const ExactPoints& exact, const std::vector<ExactPoint>& points,
                 const std::vector<std::int32_t>& group, const TriMesh& real);

    /// For each patch how often the group of its faces winds around the points just in front of
    /// them. One ray for each, from a point within the face that leaves most room; a patch of which
    /// no face holds such a point is smaller than rounding and gets `kTooSmall`.
    [[nodiscard]] std::vector<int> in_front(const std::vector<ArrangedFace>& faces,
                                            std::size_t patches, const RunContext& context) const;

    static constexpr int kTooSmall = 1 << 20;

  private:
    struct Start {
        double room = 0.0;
        std::size_t face = 0;
        int axis = 0;
        Vec3 at = Vec3::Zero();
    };
    [[nodiscard]] Start start_in(const ArrangedFace& face, std::size_t number) const;
    [[nodiscard]] std::vector<Start> best_starts(const std::vector<ArrangedFace>& faces,
                                                 std::size_t patches,
                                                 const RunContext& context) const;
    [[nodiscard]] double unit_mm() const;
    [[nodiscard]] int front(const ArrangedFace& face, const Start& start,
                            const std::vector<std::int32_t>& candidates) const;

    const ExactPoints& exact_;
    const std::vector<ExactPoint>& points_;
    const std::vector<std::int32_t>& group_;
    const TriMesh& real_;
};

}  // namespace cavigram
