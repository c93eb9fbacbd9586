// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/plan/kept_detail.h"
#include "cavigram/plan/part_nodes_detail.h"
#include "cavigram/plan/plan.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram::detail {

struct RiseStage {
    std::optional<RiseBlock> block;  // none: nothing lets air out
    std::vector<Finding> findings;
};

// The cavity in cells, for one way up.
struct RiseGridKey {
    Shared<PreparedPart> part;
    Shared<ThicknessMap> thickness;
    Vec3 up = Vec3::UnitZ();
    double volume_mm3 = 0.0;
    std::size_t cells = 0;
    friend bool operator==(const RiseGridKey&, const RiseGridKey&) = default;
    [[nodiscard]] RiseGrid make(const RunContext& context) const;
};

struct RiseKey {
    Shared<RiseGrid> grid;
    RiseRequest request;
    friend bool operator==(const RiseKey&, const RiseKey&) = default;
    [[nodiscard]] Rise make(const RunContext& context) const;
};

// When foam gets to each vertex of the part.
struct RiseVerticesKey {
    Shared<PreparedPart> part;
    Shared<RiseGrid> grid;
    Shared<Rise> rise;
    friend bool operator==(const RiseVerticesKey&, const RiseVerticesKey&) = default;
    [[nodiscard]] std::vector<double> make(const RunContext& context) const;
};

// How much foam there is, and how far it grows.
struct RiseAmount {
    double part_g = 0.0;
    double volume_mm3 = 0.0;
    double free_rise_kg_m3 = 0.0;
    double expansion_ratio = 0.0;
    double air_kpa = kAtmosphere_kpa;
    friend bool operator==(const RiseAmount&, const RiseAmount&) = default;
};

// In which share of so many runs, over what is not known, foam gets to each of some places.
struct RiseLikelyKey {
    Shared<RiseGrid> grid;
    RiseRequest request;
    RiseAmount amount;
    std::array<double, 3> free_rise_kg_m3{};  // likely, low, high
    std::vector<Vec3> places_mm;
    int runs = 0;
    friend bool operator==(const RiseLikelyKey&, const RiseLikelyKey&) = default;
    [[nodiscard]] std::vector<double> make(const RunContext& context) const;
};

// What is known of the rise.
struct RiseNodes {
    Kept<ThicknessKey> thickness;
    Kept<RiseGridKey> grid{3};  // as planned, by steps, and a coarser one for what is compared
    Kept<RiseKey> rise{16};     // as planned, and each of the cases
    Kept<RiseVerticesKey> vertices;
    Kept<RiseLikelyKey> likely;
};

// The foam rising in the mold that the plan has so far: its foam, its holes, its way up, its
// method. With `cases`, also without each vent, with the pour hole the other way, and with a tenth
// more and less foam. \pre foam, air and bench are there; `part` is the plan's
RiseStage rise_stage(const Plan& plan, const Shared<PreparedPart>& part,
                     const Shared<TriangleBvh>& surface, bool cases, RiseNodes& nodes,
                     const RunContext& context);

}  // namespace cavigram::detail
