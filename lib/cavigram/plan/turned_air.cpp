// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "cavigram/plan/turned_air_detail.h"
#include "cavigram/venting/pockets.h"

namespace cavigram::detail {

namespace {

// The holes as they were placed, as openings that are given.
Openings as_openings(const PlacedHoles& holes, const HoleRules& rules) {
    Openings openings;
    openings.pour_hole_after = rules.given.pour_hole_after;
    openings.mouth_mm = rules.poured_through ? holes.pour_hole_mm : 0.0;
    for (const Opening& opening : holes.openings) {
        (opening.pour_hole ? openings.pour_holes_mm : openings.vents_mm)
            .push_back(opening.place_mm);
    }
    for (const Vent& vent : holes.vents) {
        openings.vents_mm.push_back(vent.place_mm);
    }
    return openings;
}

// For each arc the outermost of these pockets that it lies in, or -1.
std::vector<std::int32_t> pocket_of_arc(const AirTree& tree, const std::vector<Pocket>& pockets) {
    std::vector<std::int32_t> of(tree.arcs.size(), -1);
    for (std::size_t i = 0; i < pockets.size(); ++i) {
        if (pockets[i].parent < 0) {
            of[static_cast<std::size_t>(pockets[i].arc)] = static_cast<std::int32_t>(i);
        }
    }
    // Children stand before their parents.
    for (std::size_t arc = tree.arcs.size(); arc-- > 0;) {
        const std::int32_t parent = tree.arcs[arc].parent;
        if (parent >= 0 && of[static_cast<std::size_t>(parent)] >= 0) {
            of[arc] = of[static_cast<std::size_t>(parent)];
        }
    }
    return of;
}

// Nested pockets are drawn by those that hold them, and have no triangles of their own.
std::vector<PocketShape> shapes(const ShownPart& shown, const AirTree& tree,
                                const std::vector<Pocket>& pockets) {
    std::vector<PocketShape> shapes(pockets.size());
    for (std::size_t i = 0; i < pockets.size(); ++i) {
        shapes[i].pocket = pockets[i];
    }
    const std::vector<std::int32_t> of = pocket_of_arc(tree, pockets);
    std::vector<std::int32_t> pocket_above(shown.mesh.vertices.size(), -1);
    for (std::size_t v = 0; v < pocket_above.size(); ++v) {
        const std::int32_t arc = tree.arc_of_vertex[shown.neighbors[v].vertex];
        const std::int32_t pocket = arc < 0 ? -1 : of[static_cast<std::size_t>(arc)];
        if (pocket >= 0 && tree.up.dot(shown.mesh.vertices[v]) >
                               pockets[static_cast<std::size_t>(pocket)].spill_height_mm) {
            pocket_above[v] = pocket;
        }
    }
    for (std::size_t t = 0; t < shown.mesh.triangles.size(); ++t) {
        std::int32_t pocket = -1;
        for (const std::int32_t vertex : shown.mesh.triangles[t]) {
            pocket = std::max(pocket, pocket_above[static_cast<std::size_t>(vertex)]);
        }
        if (pocket >= 0) {
            shapes[static_cast<std::size_t>(pocket)].triangles.push_back(
                static_cast<std::int32_t>(t));
        }
    }
    return shapes;
}

}  // namespace

TurnedAir turned_air(const AirTreeBuilder& solid, const AirTree& tree, const PlacedHoles& holes,
                     const AirOptions& options, const AirConditions& conditions,
                     const ShownPart& shown) {
    TurnedAir turned;
    turned.air = opened_air(tree, holes, options, conditions);
    turned.unvented = shapes(shown, tree, holes.unvented.pockets);
    const AirPockets left =
        air_pockets(solid, tree, as_openings(holes, hole_rules(options, conditions)),
                    {.min_volume_mm3 = options.smallest_pocket_mm3});
    turned.left = shapes(shown, tree, left.vented.pockets);
    turned.squeezed_mm3 =
        squeezed_volume_mm3(turned.air.trapped_vented_mm3, conditions.pressure_kpa);
    return turned;
}

}  // namespace cavigram::detail
