// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/pockets.h"
#include "cavigram/venting/show_side.h"
#include "cavigram/venting/vents.h"

namespace cavigram {

/// What holes are wanted, and what they keep to.
struct HoleRules {
    Openings given = {};           ///< What the person gives, and what becomes of the pour hole.
    std::size_t most_vents = 3;    ///< More holes than this are hard to plug; common practice.
    double pour_hole_mm = 15.0;    ///< Width of the pour hole.
    bool pour_hole_asked = false;  ///< That width was asked for; else it may be made smaller.
    /// The part is surely poured through it, so that it is as wide: peaks within its mouth are
    /// open. Else it may be drilled as a vent only.
    bool poured_through = false;
    /// No pour hole is made narrower than this by itself: it goes to another place instead. Common
    /// practice, no source.
    double least_pour_hole_mm = 8.0;
    double vent_mm = 2.0;  ///< Width of each vent.
    /// Wall that stays between the edges of two holes; thinner rubber tears when the foam in the
    /// holes is pulled out. Common practice, no source.
    double least_wall_mm = 3.0;
    std::optional<double> smallest_pocket_mm3 = {};  ///< As PocketOptions::min_volume_mm3.
    std::optional<ShowSide> show = {};               ///< The side that is seen: holes keep off it.

    /// Field by field.
    friend bool operator==(const HoleRules&, const HoleRules&) = default;
};

/// A pour hole that was put elsewhere than on the highest place, since that takes none so wide.
struct MovedPourHole {
    Vec3 from_mm = Vec3::Zero();  ///< The highest place.
    Vec3 to_mm = Vec3::Zero();    ///< Where it is now.
    double widest_mm = 0.0;       ///< What the highest place takes.
};

/// A hole that the part does not take where it is.
struct TightHole {
    Vec3 place_mm = Vec3::Zero();  ///< Where it is.
    double width_mm = 0.0;         ///< How wide it is.
    double widest_mm = 0.0;        ///< How wide it could be.
};

/// Two holes with less than the least wall between them, because they were given so.
struct CloseHoles {
    Opening vent;          ///< The one,
    Opening other;         ///< and the other, a pour hole or a vent.
    double wall_mm = 0.0;  ///< Between their edges; below 0 they run into each other.
};

/// The holes of a mold for one way up, and the air that they leave.
struct PlacedHoles {
    std::vector<Opening> openings;  ///< Pour holes, and vents that were given.
    double pour_hole_mm = 0.0;      ///< Width of the pour holes; 0: there is none.
    bool narrowed = false;          ///< Made smaller than wished, because the part takes no wider.
    double widest_mm = 0.0;         ///< What the part takes at the pour holes, as widest_hole_mm.
    std::vector<MovedPourHole> moved;         ///< Pour holes that went elsewhere.
    std::vector<TightHole> tight_pour_holes;  ///< Those that the part does not take.
    std::vector<TightHole> tight_vents;       ///< Of those given or made.
    std::vector<CloseHoles> close;            ///< Holes given too close to each other.
    std::vector<Opening> on_underside;        ///< Holes given where nothing can be poured.
    std::vector<Opening> on_show_side;        ///< Given there, or for want of another place.
    std::size_t kept_apart = 0;  ///< Vents moved or left out so that a wall stays between holes.
    bool nothing_shown = false;  ///< No surface of the part lies on the show side.
    TrappedAir unvented;         ///< With the pour holes alone.
    double smallest_pocket_mm3 = 0.0;  ///< Pockets below this are not listed.
    std::vector<Vent> vents;           ///< Made: the best first, no more than allowed.
    double trapped_mm3 = 0.0;          ///< Air that stays with all of these holes.
    /// With none, one, two ... of the best vents, made or not; empty where vents are given.
    std::vector<double> left_mm3;
    std::size_t closed_solids = 0;  ///< Solids without any opening that lets air out.
};

/// Puts pour holes and vents where a person can drill them, and counts the air that stays. The same
/// for the way up that is planned for and for those that are compared with it.
///
/// A pour hole goes to the highest place of its solid, or where it is given. Where the part takes
/// none so wide (hole_fit), one whose width was not asked for is made as wide as fits, down to the
/// least; else it goes to the highest place that takes it, of some 2000 spread over the surface
/// that looks up within 60 degrees. One that is given a place is never moved. Plugged, it leaves
/// the highest place to the vent and goes beside it. Holes keep off the show side.
///
/// Vents are those of vent_plan; one that would leave less than the least wall to another hole goes
/// to the highest place of its branch that is farther off, or is left out.
///
/// As vent_plan and places_off, and 48 rays for each width and place that is tried.
///
/// \pre `tree` is one of `solid`; widths above 0
///
/// \throw InvalidInput as placed_openings
[[nodiscard]] PlacedHoles placed_holes(const AirTreeBuilder& solid, const AirTree& tree,
                                       const HoleRules& rules);

}  // namespace cavigram
