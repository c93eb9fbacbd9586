// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/kept_detail.h"
#include "cavigram/plan/part_nodes_detail.h"
#include "cavigram/plan/plan.h"

namespace cavigram::detail {

// Walls thinner than this are thin: as asked, else twice the skin, at least kHardToFill_mm.
double thin_limit_mm(const std::optional<double>& asked_mm, double skin_mm);

// How far thickness is measured: as far as it is colored for a limit, and as far as the picture of
// the density needs it.
double thickness_cap_mm(double limit_mm, bool for_density);

// Thin places, where they are in words, and what thickening them would change. \throw InvalidInput
struct ThinKey {
    Shared<PreparedPart> part;
    Shared<MeasuresBlock> measures;
    Shared<ThicknessMap> map;  // for the same limit
    double limit_mm = 0.0;
    double skin_mm = 0.0;
    std::optional<double> thicken_mm;
    friend bool operator==(const ThinKey&, const ThinKey&) = default;
    [[nodiscard]] ThinBlock make(const RunContext& context) const;
};

// What a hand meets beneath the surface.
struct DensityKey {
    Shared<PreparedPart> part;
    Shared<ThicknessMap> map;
    SkinOnCore layers;
    friend bool operator==(const DensityKey&, const DensityKey&) = default;
    [[nodiscard]] DensityMap make(const RunContext& context) const;
};

struct ThinNodes {
    Kept<ThicknessKey> thickness{2};
    Kept<ThinKey> thin;
    Kept<DensityKey> density;
};

}  // namespace cavigram::detail
