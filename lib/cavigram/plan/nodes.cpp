// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/plan/nodes_detail.h"

namespace cavigram::detail {

AirTreeBuilder SolidKey::make(const RunContext& context) const {
    context.report("air", 0.0);
    return AirTreeBuilder(Shared<Part>(part, &part->part), surface, AirTreeOptions{}, context);
}

Proxy StandInKey::make(const RunContext& context) const {
    return decimated_proxy(part->part.mesh(), *surface, {.triangles = triangles}, context);
}

FoundWays SearchKey::make(const RunContext& context) const {
    return find_ways(*solid, *stand_in, options, context);
}

Orientations RankingKey::make(const RunContext& context) const {
    return ranked_ways(*solid, *found, options, context);
}

MoldShape MoldShapeKey::make(const RunContext& context) const {
    return mold_shape(request, part->part.mesh(), part->part.shells(), *surface,
                      measures->mass.centroid_mm, context);
}

ShownMesh ShownMeshKey::make(const RunContext& context) const {
    return shown_mesh(part->part.mesh(), *surface, context);
}

std::vector<ShownNeighbor> ShownNeighborsKey::make(const RunContext& context) const {
    return cavigram::shown_neighbors(shown->mesh, part->part.mesh(), *surface, context);
}

ShownSides ShownSidesKey::make(const RunContext& context) const {
    return shown_sides(shown->mesh, up, context);
}

ShownHalves ShownHalvesKey::make(const RunContext& context) const {
    return shown_halves(shown->mesh, part->part.mesh(), split->found.parting, *surface, context);
}

ShownLine ShownLineKey::make(const RunContext& context) const {
    return shown_line(shown->mesh, part->part.mesh(), split->found.parting, *surface, context);
}

void Nodes::begin(const Shared<PreparedPart>& part) {
    first.begin(part);
    if (of_ == part) {
        return;
    }
    const auto clear = [](auto&... nodes) { (nodes.clear(), ...); };
    clear(thin.thickness, thin.thin, thin.density, rod, handle, solid, stand_in, search, ranking,
          pulls, split, mold);
    clear(air.tree, air.holes, air.pools, air.necks, air.second);
    clear(turned_tree, turned_holes);
    clear(rise.thickness, rise.grid, rise.rise, rise.vertices, rise.likely);
    clear(shown_mesh, shown_neighbors, shown_sides, shown_halves, shown_line);
    of_ = part;
}

SessionCounts Nodes::counts() const {
    SessionCounts counts;
    counts.read = first.soup.made();
    counts.mended = first.part.made();
    counts.measured = first.measures.made();
    counts.indexed = first.surface.made();
    counts.skin_depths = first.depth.made();
    counts.thicknesses = thin.thickness.made();
    counts.thin_places = thin.thin.made();
    counts.density_maps = thin.density.made();
    counts.rods = rod.made();
    counts.in_the_hand = handle.made();
    counts.air_builders = solid.made();
    counts.air_trees = air.tree.made() + turned_tree.made();
    counts.placed_holes = air.holes.made() + turned_holes.made();
    counts.necks = air.necks.made();
    counts.second_methods = air.second.made();
    counts.way_searches = search.made();
    counts.way_rankings = ranking.made();
    counts.splits = split.made();
    counts.mold_shapes = mold.made();
    counts.rise_grids = rise.grid.made();
    counts.rises = rise.rise.made();
    counts.pictures = shown_mesh.made();
    return counts;
}

}  // namespace cavigram::detail
