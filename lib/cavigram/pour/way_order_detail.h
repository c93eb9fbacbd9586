// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "cavigram/pour/orientations.h"
#include "cavigram/pour/way_weights.h"

namespace cavigram::detail {

inline constexpr double kHeightStep_mm = 1.0;  // less does not tell ways up apart

// Orders ways up: what matters most comes first, and what is too small to matter is rounded away.
class WayOrder {
  public:
    WayOrder(double step_mm3, const std::optional<WayWeights>& weights)
        : step_mm3_(step_mm3), weights_(weights) {}

    // What ways up are weighed between. Without it, and without weights, none is weighed.
    void scale(const std::vector<WayUp>& seen);
    // What is known for the finalists only.
    void scale_rows(const std::vector<RankedWayUp>& rows);

    [[nodiscard]] double score(const WayUp& way) const;
    [[nodiscard]] double score(const RankedWayUp& row) const;

    [[nodiscard]] double step_mm3() const { return step_mm3_; }

    // By what ways up are ranked.
    [[nodiscard]] std::array<double, 4> key(const WayUp& way) const;
    // In what they differ.
    [[nodiscard]] std::array<double, 4> respects(const WayUp& way) const;
    [[nodiscard]] bool better(const WayUp& a, const WayUp& b) const;
    // No worse in anything, and better in something.
    [[nodiscard]] bool dominates(const WayUp& a, const WayUp& b) const;
    // For each, whether no other dominates it.
    [[nodiscard]] std::vector<char> front(const std::vector<WayUp>& ways) const;

  private:
    double step_mm3_;
    std::optional<WayWeights> weights_;
    WayScale scale_;
};

}  // namespace cavigram::detail
