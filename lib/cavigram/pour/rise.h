// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/constants.h"
#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/measure/place_words.h"
#include "cavigram/pour/rise_course.h"
#include "cavigram/pour/rise_grid.h"
#include "cavigram/pour/rise_pool.h"
#include "cavigram/pour/rise_seams.h"
#include "cavigram/pour/rise_viscous.h"

namespace cavigram {

/// How the rise is followed.
enum class RiseLevel {
    still,    ///< Gravity rules: the foam stands level, and the level rises.
    stepped,  ///< Gravity, viscosity and the air's pressure together, step by step.
    viscous,  ///< Gravity does not matter: the foam swells where it is least held back.
};

/// The word for it in text and JSON: `still`, `stepped`, `viscous`.
[[nodiscard]] const char* to_text(RiseLevel level);
/// The way back.
///
/// \throw InvalidInput naming the words
[[nodiscard]] RiseLevel parse_rise_level(std::string_view text, std::string_view name);

/// A hole that lets air out while the foam rises, and then foam.
struct RiseHole {
    Vec3 at_mm = Vec3::Zero();  ///< On the surface.
    double width_mm = 0.0;      ///< Of the hole that is open.
    double length_mm = 0.0;     ///< Through the mold's wall.
    bool pour_hole = false;     ///< The drilled cover of a pour hole; else a vent.

    /// Field by field.
    friend bool operator==(const RiseHole&, const RiseHole&) = default;
};

/// What rises, in which mold.
struct RiseRequest {
    double cavity_mm3 = 0.0;       ///< Of the part.
    double liquid_kg_m3 = 1080.0;  ///< Of the stirred mix.
    PoolStart start;               ///< How much of it, and how it lies.
    RiseCourseOptions course;      ///< How it grows and thickens, today.
    std::vector<RiseHole> holes;   ///< Those that let air out.
    /// About what the foam presses with when all of it is packed into the cavity, as by its gas.
    double packing_kpa = 0.0;
    double packing_factor = 1.0;       ///< Its free volume over the cavity.
    double air_kpa = kAtmosphere_kpa;  ///< Of the room.
    /// Less air than this, cut off, is a seam. It is never less than that of some cells.
    double smallest_air_mm3 = 100.0;
    int moments = 20;                ///< At which it is looked at while it rises.
    std::optional<RiseLevel> level;  ///< None: by the gravity number.

    /// Field by field.
    friend bool operator==(const RiseRequest&, const RiseRequest&) = default;
};

/// A moment of the rise.
struct RiseMoment {
    double time_s = 0.0;        ///< From the start of stirring.
    double filled_share = 0.0;  ///< Of the cavity.
    double pressure_kpa = 0.0;  ///< The highest that drives the foam.
};

/// What happens at a hole.
struct RiseAtHole {
    std::optional<double> reached_s;  ///< When foam is under it; none: never.
    double share_then = 0.0;          ///< Of that piece of the cavity that is full then.
    double flash_g = 0.0;             ///< Foam that leaves by it, about.
};

/// A place that is filled late or never.
struct LatePlace {
    Vec3 at_mm = Vec3::Zero();     ///< In the part.
    std::optional<double> time_s;  ///< When foam gets there; none: it doesn't.
    double volume_mm3 = 0.0;       ///< Room that stays empty there; 0 where it fills.
};

/// Air that is cut off, with its time.
struct RiseAir {
    Vec3 at_mm = Vec3::Zero();  ///< Its highest place.
    double volume_mm3 = 0.0;    ///< When it was cut off.
    double squeezed_mm3 = 0.0;  ///< Once the foam presses as it does at the end.
    double time_s = 0.0;        ///< When it was cut off.
};

/// The rise, in time. All times count from the start of stirring.
struct Rise {
    RiseLevel level = RiseLevel::viscous;  ///< By which it was followed.
    /// Gravity over what viscosity takes, rho g K/(mu s L), when the foam fills half the cavity.
    double gravity_number = 0.0;
    /// It was to be stepped, but the steps did not settle: the nearer of the other two was taken.
    bool steps_failed = false;
    std::size_t cells = 0;         ///< Of the grid,
    double cell_mm = 0.0;          ///< and their edge.
    double mass_error = 0.0;       ///< Largest of all moments, over what was poured.
    double filled_share = 0.0;     ///< Of the cavity, at the end.
    std::optional<double> full_s;  ///< When nothing but cut-off air is left; none: never.
    double gel_s = 0.0;            ///< When it runs no more.
    bool gel_guessed = true;       ///< That time is a guess.
    double missing_mm3 = 0.0;      ///< Room that stays empty for want of foam or of time.
    double unreached_mm3 = 0.0;  ///< Room in arms narrower than a cell, of which nothing is known.
    std::vector<RiseMoment> moments;   ///< In order of time.
    std::vector<RiseAtHole> at_holes;  ///< In the order of the request.
    std::vector<LatePlace> last;  ///< The latest places, the latest first; apart from each other.
    std::vector<LatePlace> unfilled;  ///< Room that stays empty and is not cut off, largest first.
    std::vector<RiseAir> sealed;      ///< Largest first.
    std::vector<RiseSeam> seams;      ///< Where fronts meet, largest first.
    double flow_kpa = 0.0;            ///< Highest pressure while it rises.
    double peak_kpa = 0.0;            ///< That, or what it packs with once the cavity is full.
    double opening_force_n = 0.0;     ///< That pressure on the part's outline as seen along up.
    std::vector<double> cell_arrival_s;  ///< Of each cell; infinity: never.
};

/// The level for a gravity number.
[[nodiscard]] RiseLevel level_for(double gravity_number);

/// Gravity over what viscosity takes, as Rise::gravity_number. O(n log n)
///
/// \throw InvalidInput as follow_rise
[[nodiscard]] double gravity_number_of(const RiseGrid& grid, const RiseRequest& request);

/// Follows the foam through the cavity.
///
/// `still` where the gravity number is 30 or more, `viscous` where it is 1/30 or less, `stepped`
/// between (common practice, no source: a thirtieth is less than the pressures are known to). Where
/// steps don't settle, or misplace more than 1 % of the cavity (foam that falls over a sill), the
/// nearer of the other two is taken, and said. Once the cavity is full the foam packs: its gas and
/// the air that it cut off press alike (docs/checks.md E6), and foam leaves by the holes that it
/// has reached, as a slow flow against its viscosity, until it gels. Pressures rest on a guessed
/// viscosity: an order of magnitude.
///
/// O(moments x sets x cells): 60,000 cells in a second or two, stepped in some 7.
///
/// \throw InvalidInput for a request that makes no sense, and if there is no hole at all
///
/// \throw Cancelled
[[nodiscard]] Rise follow_rise(const RiseGrid& grid, const RiseRequest& request,
                               const RunContext& context = {});

/// When foam gets to each of some points on or in the part: that of the nearest cell; infinity
/// where it doesn't.
[[nodiscard]] std::vector<double> arrival_at(const RiseGrid& grid, const Rise& rise,
                                             const std::vector<Vec3>& points_mm);

/// What a person should know of it, as findings with places: too little foam, gel too soon, air
/// that stays, vents that foam reaches early, arms that the cells don't see.
[[nodiscard]] std::vector<Finding> rise_findings(const Rise& rise, const RiseRequest& request,
                                                 const PlaceFrame& frame);

/// The rise in a sentence or two, told (core/told.h).
[[nodiscard]] std::string rise_story(const Rise& rise, const PlaceFrame& frame);

}  // namespace cavigram
