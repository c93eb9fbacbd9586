// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/kept_detail.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// What the split is asked for. `options` has the way up that is planned for, which counts where it
// was given or holes were placed for it (`placed`).
SplitOptions split_options(const SplitChoice& choice, const AirOptions& options, bool placed);

// Pull, parting line and what is caught; nothing yet of holes. \throw InvalidInput, Cancelled
struct SplitKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    SplitOptions options;
    friend bool operator==(const SplitKey&, const SplitKey&) = default;
    [[nodiscard]] SplitBlock make(const RunContext& context) const;
};

// How far holes lie from the line.
std::vector<HoleAtLine> holes_at_line(const AirBlock& air,
                                      const std::vector<std::vector<Vec3>>& loops);

}  // namespace cavigram::detail
