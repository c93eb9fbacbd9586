// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/kept_detail.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/proxy.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

// What the split is asked for: the way up counts where it was given.
SplitOptions split_options(const SplitChoice& choice, const AirOptions& options);

// Pulls, ranked by themselves. \throw InvalidInput, Cancelled
struct PullSearchKey {
    Shared<PreparedPart> part;
    Shared<Proxy> stand_in;
    SplitOptions options;
    friend bool operator==(const PullSearchKey&, const PullSearchKey&) = default;
    [[nodiscard]] PullSearch make(const RunContext& context) const;
};

// Ways up and pulls as one plan; of either only the one that is given, if one is.
WaysAndPulls ways_and_pulls(const Orientations& ways, const PullSearch& search,
                            const MassProperties& mass, const AirOptions& options);

// Pull, parting line and what is caught; nothing yet of holes. With a search the pull of the
// options is one of its rows. \throw InvalidInput, Cancelled
struct SplitKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    SplitOptions options;
    Shared<PullSearch> search;  // none: it searches, or is given a pull
    friend bool operator==(const SplitKey&, const SplitKey&) = default;
    [[nodiscard]] SplitBlock make(const RunContext& context) const;
};

// How far holes lie from the line.
std::vector<HoleAtLine> holes_at_line(const AirBlock& air,
                                      const std::vector<std::vector<Vec3>>& loops);

}  // namespace cavigram::detail
