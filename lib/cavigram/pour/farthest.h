// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <span>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"

namespace cavigram {

/// How far the foam has to go.
struct FarthestPlace {
    Vec3 place_mm = Vec3::Zero();  ///< The vertex that is farthest from the pour hole.
    double path_mm = 0.0;          ///< The way there.
};

/// The place that is farthest from the pour hole, along the surface.
///
/// Ways run along the mesh's edges and straight through triangle pairs that share an edge, from
/// each pour hole's nearest vertex, so they are up to a tenth or so too long on an even mesh, and
/// the same mesh gives comparable ways. A solid without a pour hole of its own does not count.
/// (Dijkstra, Numer. Math. 1 (1959) 269.)
///
/// O(n log n).
///
/// \pre at least one place
[[nodiscard]] FarthestPlace farthest_place(const AirTreeBuilder& solid,
                                           std::span<const Vec3> pour_holes_mm);

}  // namespace cavigram
