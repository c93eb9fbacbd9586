// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"

namespace cavigram {

/// What becomes of the pour hole while the foam rises.
enum class PourHoleAfter {
    vented,   ///< Covered, with a hole drilled through the cover: it lets air out as a vent does.
    plugged,  ///< Closed: liquid came down under it, but it lets out no air.
    none,     ///< There is none: the liquid goes into the open mold, which is then closed.
};

/// The word for it in text and JSON: `vented`, `plugged`, `none`.
[[nodiscard]] const char* to_text(PourHoleAfter after);
/// The way back.
///
/// \throw InvalidInput naming the three words
[[nodiscard]] PourHoleAfter parse_pour_hole_after(std::string_view text, std::string_view name);

/// Where air may leave, as given: points on the surface or near it, in the part's coordinates.
struct Openings {
    std::vector<Vec3> pour_holes_mm = {};  ///< None for a solid: its highest place is taken.
    std::vector<Vec3> vents_mm = {};       ///< Existing ones.
    /// Of all pour holes. With `none` there are none, given or chosen.
    PourHoleAfter pour_hole_after = PourHoleAfter::vented;
    /// Width of the pour holes: one that lets air out lets it out of every peak within its mouth,
    /// too. 0: a pour hole is a point.
    double mouth_mm = 0.0;

    /// Field by field.
    friend bool operator==(const Openings&, const Openings&) = default;
};

/// An opening as it was understood.
struct Opening {
    bool pour_hole = false;        ///< Otherwise a vent.
    bool given = true;             ///< False: chosen here, at a solid's highest place.
    bool lets_air_out = true;      ///< False: a pour hole that is plugged before the foam rises.
    bool within = false;           ///< A peak within a pour hole's mouth: no hole of its own.
    Vec3 place_mm = Vec3::Zero();  ///< On the surface.
    double moved_mm = 0.0;         ///< How far the given point was from it.
    double height_mm = 0.0;        ///< Of the place.
    std::int32_t triangle = -1;    ///< Which holds the place.
    std::int32_t arc = -1;         ///< The piece of air that it lets out.
    std::int32_t root = -1;        ///< The solid that it is on, as the root of its tree.
};

/// Air that cannot leave when the level has risen past it.
struct Pocket {
    Vec3 peak_mm = Vec3::Zero();  ///< Its highest place, on the surface; the middle of a level one.
    double peak_height_mm = 0.0;  ///< Of the peak.
    double spill_height_mm =
        0.0;                   ///< Where the air loses its last way out: a saddle or an opening.
    double depth_mm = 0.0;     ///< From peak to spill height.
    double volume_mm3 = 0.0;   ///< All of it, pockets nested in it included.
    std::int32_t parent = -1;  ///< The listed pocket that it is nested in, by index; -1: none.
    std::int32_t peak_vertex = -1;  ///< Of the mesh.
    std::int32_t arc = -1;          ///< Its lowest arc in the air tree.
};

/// The trapped air for one set of openings.
struct TrappedAir {
    std::vector<Pocket> pockets;   ///< Largest first; a nested one after the one that holds it.
    double total_mm3 = 0.0;        ///< Of all pockets, also those not listed.
    std::size_t hidden_count = 0;  ///< Pockets too small to be listed, nested ones apart.
    double hidden_mm3 = 0.0;       ///< What these hold together.
    std::size_t hidden_nested =
        0;  ///< Nested pockets not listed; their air is in those around them.
};

/// Air pockets of a solid for one way up.
struct AirPockets {
    double volume_mm3 = 0.0;        ///< Of the solid.
    std::vector<Opening> openings;  ///< As they were understood.
    TrappedAir unvented;          ///< With the pour holes alone; all air where these let none out.
    TrappedAir vented;            ///< With the vents as well.
    double min_volume_mm3 = 0.0;  ///< The size from which pockets are listed.
};

/// Which pockets are listed, and how far off an opening may be given.
struct PocketOptions {
    /// Pockets below this are counted, not listed. Default: the larger of 0.1 cm3, a bubble of 6 mm
    /// that a person would fill by hand, and 1e-5 of the solid (common practice, no source).
    std::optional<double> min_volume_mm3 = {};
    /// Likewise for pockets less deep than this; for scans, three times the noise. Default: all.
    double min_depth_mm = 0.0;
    /// How far a given point may lie off the surface. Default: the larger of 2 mm and 1 % of the
    /// part's diagonal; beyond, a point was most likely meant for another part or unit.
    std::optional<double> snap_limit_mm = {};
};

/// What `volume_mm3` of air shrinks to when the foam presses on it, by Boyle's law from the
/// standard atmosphere of 101.325 kPa: V p0 / (p0 + p).
///
/// \pre gauge_kpa > -101.325
[[nodiscard]] double squeezed_volume_mm3(double volume_mm3, double gauge_kpa);

/// The size from which pockets and vents are listed unless told otherwise: see PocketOptions.
[[nodiscard]] double default_min_volume_mm3(double solid_volume_mm3);

/// Openings set on the surface; a pour hole is added at the highest place of each solid that has
/// none, unless there shall be none. Cheap: one search for each.
///
/// \throw InvalidInput for a point too far from the surface, and for a pour hole where there shall
/// be none
[[nodiscard]] std::vector<Opening> placed_openings(const AirTreeBuilder& solid, const AirTree& tree,
                                                   const Openings& openings,
                                                   const PocketOptions& options = {});

/// The air that stays in a solid that fills from below, for one way up and given openings.
///
/// A level rises through the whole solid at once; the air above it leaves through any opening that
/// its piece still has above the level, and is trapped from the moment when its last one goes
/// under. So an opening below a peak leaves what is above it, and one on the peak leaves nothing. A
/// solid without any opening keeps all its air. Pockets nested in a pocket are listed too, each
/// with what it alone would keep if the place below it were open. Model limits: the level is the
/// same everywhere, a neck passes air however narrow it is.
///
/// O(arcs), and O(triangles) for each opening that is not on a peak.
///
/// \throw InvalidInput
[[nodiscard]] AirPockets air_pockets(const AirTreeBuilder& solid, const AirTree& tree,
                                     const Openings& openings = {},
                                     const PocketOptions& options = {});

/// The same in one call, for one way up.
[[nodiscard]] AirPockets air_pockets(const Part& part, const Vec3& up,
                                     const Openings& openings = {},
                                     const PocketOptions& options = {},
                                     const RunContext& context = {});

}  // namespace cavigram
