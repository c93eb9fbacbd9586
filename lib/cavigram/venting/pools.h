// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/pockets.h"

namespace cavigram {

/// A basin that liquid fills before it spills over into another.
struct Pool {
    Vec3 floor_mm =
        Vec3::Zero();  ///< Its deepest place, on the surface; the middle of a level one.
    double floor_height_mm = 0.0;  ///< Of the floor.
    double spill_height_mm = 0.0;  ///< Where it runs over. For a whole solid: its highest place.
    double depth_mm = 0.0;         ///< From floor to spill height.
    double volume_mm3 = 0.0;       ///< What it holds, pools nested in it included.
    /// How high the liquid from the pour place must stand before any gets here: the lowest sill on
    /// the way. Empty: the pour place lies in this pool itself, or in another solid.
    std::optional<double> entry_height_mm;
    /// How much liquid there must be before any gets here: what the basins hold that it fills and
    /// runs over first. 0 where entry_height_mm is empty.
    double entry_mm3 = 0.0;
    bool reached = true;       ///< The liquid given gets here; otherwise only the rising foam does.
    std::int32_t parent = -1;  ///< The listed pool that it is nested in, by index; -1: none.
    std::int32_t floor_vertex = -1;  ///< Of the mesh.
    std::int32_t arc = -1;           ///< Its outermost arc in the tree for -up.
};

/// The pools of a solid, and where the liquid stands.
struct Pools {
    std::vector<Pool> pools;         ///< Largest first; the first of each solid is the whole of it.
    std::size_t hidden_count = 0;    ///< Pools too small to be listed.
    std::optional<Vec3> landing_mm;  ///< Where the liquid comes down, on the surface.
    /// How high the liquid given stands at the pour place. Empty: no liquid, or no place.
    std::optional<double> level_height_mm;
};

/// What is poured, where, and which pools are listed.
struct PoolOptions {
    /// Where the liquid comes down: a point on the surface or near it.
    std::optional<Vec3> pour_place_mm = {};
    std::optional<double> liquid_mm3 = {};      ///< How much of it, before it rises.
    std::optional<double> min_volume_mm3 = {};  ///< As in PocketOptions.
    double min_depth_mm = 0.0;                  ///< As in PocketOptions.
    std::optional<double> snap_limit_mm = {};   ///< As in PocketOptions.

    /// Field by field.
    friend bool operator==(const PoolOptions&, const PoolOptions&) = default;
};

/// The floor straight under a place on the surface, such as a pour hole: where a thin stream comes
/// down. The place itself where nothing but surface lies under it.
[[nodiscard]] Vec3 landing_mm(const AirTreeBuilder& solid, const Vec3& up, const Vec3& place_mm);

/// The basins in which liquid gathers in a solid, for one way up: the air tree upside down.
///
/// `upside_down` is the tree of the same solid for -up. Where basins meet the one with the deepest
/// floor goes on, the others end. The liquid fills the basin that it comes down in, runs over its
/// lowest sill into what lies beyond until that is full to the sill too, and so on.
///
/// \throw InvalidInput as placed_openings
[[nodiscard]] Pools pools(const AirTreeBuilder& solid, const AirTree& upside_down,
                          const PoolOptions& options = {});

}  // namespace cavigram
