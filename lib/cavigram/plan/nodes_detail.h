// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/plan/air_stage_detail.h"
#include "cavigram/plan/handle_stage_detail.h"
#include "cavigram/plan/kept_detail.h"
#include "cavigram/plan/part_nodes_detail.h"
#include "cavigram/plan/rise_stage_detail.h"
#include "cavigram/plan/session.h"
#include "cavigram/plan/split_stage_detail.h"
#include "cavigram/plan/thin_stage_detail.h"
#include "cavigram/spatial/proxy.h"

namespace cavigram::detail {

struct SolidKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    friend bool operator==(const SolidKey&, const SolidKey&) = default;
    [[nodiscard]] AirTreeBuilder make(const RunContext& context) const;
};

// What ways up and pulls are looked for on.
struct StandInKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    std::size_t triangles = 0;
    friend bool operator==(const StandInKey&, const StandInKey&) = default;
    [[nodiscard]] Proxy make(const RunContext& context) const;
};

// The search for a way up, without holes and without the one that was asked for.
struct SearchKey {
    Shared<AirTreeBuilder> solid;
    Shared<Proxy> stand_in;
    OrientationOptions options;
    friend bool operator==(const SearchKey&, const SearchKey&) = default;
    [[nodiscard]] FoundWays make(const RunContext& context) const;
};

struct RankingKey {
    Shared<AirTreeBuilder> solid;
    Shared<FoundWays> found;
    OrientationOptions options;
    friend bool operator==(const RankingKey&, const RankingKey&) = default;
    [[nodiscard]] Orientations make(const RunContext& context) const;
};

struct MoldShapeKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    Shared<MeasuresBlock> measures;
    MoldShapeRequest request;
    friend bool operator==(const MoldShapeKey&, const MoldShapeKey&) = default;
    [[nodiscard]] MoldShape make(const RunContext& context) const;
};

struct ShownMeshKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    friend bool operator==(const ShownMeshKey&, const ShownMeshKey&) = default;
    [[nodiscard]] ShownMesh make(const RunContext& context) const;
};

struct ShownNeighborsKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    Shared<ShownMesh> shown;
    friend bool operator==(const ShownNeighborsKey&, const ShownNeighborsKey&) = default;
    [[nodiscard]] std::vector<ShownNeighbor> make(const RunContext& context) const;
};

struct ShownSidesKey {
    Shared<ShownMesh> shown;
    Vec3 up = Vec3::UnitZ();
    friend bool operator==(const ShownSidesKey&, const ShownSidesKey&) = default;
    [[nodiscard]] ShownSides make(const RunContext& context) const;
};

struct ShownHalvesKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    Shared<ShownMesh> shown;
    Shared<SplitBlock> split;
    friend bool operator==(const ShownHalvesKey&, const ShownHalvesKey&) = default;
    [[nodiscard]] ShownHalves make(const RunContext& context) const;
};

struct ShownLineKey {
    Shared<PreparedPart> part;
    Shared<TriangleBvh> surface;
    Shared<ShownMesh> shown;
    Shared<SplitBlock> split;
    friend bool operator==(const ShownLineKey&, const ShownLineKey&) = default;
    [[nodiscard]] ShownLine make(const RunContext& context) const;
};

// All that a session keeps. What costs little is computed anew for each plan, and is not here.
struct Nodes {
    Shared<Soup> given;  // in the place of the first part's file
    PartNodes first;
    std::vector<PartNodes> others;  // poured from the same cup
    ThinNodes thin;
    Kept<RodKey> rod;
    Kept<HandleKey> handle;
    Kept<SolidKey> solid;
    AirNodes air;
    Kept<TreeKey> turned_tree;  // apart, so that turning the part lets go of nothing
    Kept<HolesKey> turned_holes;
    Kept<StandInKey> stand_in;
    Kept<SearchKey> search;
    Kept<RankingKey> ranking;
    Kept<PullSearchKey> pulls;
    Kept<SplitKey> split;
    Kept<MoldShapeKey> mold;
    RiseNodes rise;
    Kept<ShownMeshKey> shown_mesh;
    Kept<ShownNeighborsKey> shown_neighbors;
    Kept<ShownSidesKey> shown_sides;
    Kept<ShownHalvesKey> shown_halves;
    Kept<ShownLineKey> shown_line;

    // Lets go of what rests on another part than this, before as much is made of this one.
    void begin(const Shared<PreparedPart>& part);
    [[nodiscard]] SessionCounts counts() const;

  private:
    Shared<PreparedPart> of_;
};

// One plan, or the air of one way up, of what is kept. Zeros of the request have one sign.
Plan composed_plan(const PlanRequest& request, const Stages& stages, Nodes& nodes,
                   const RunContext& context);
TurnedAir composed_air(const PlanRequest& request, Nodes& nodes, const RunContext& context);

}  // namespace cavigram::detail
