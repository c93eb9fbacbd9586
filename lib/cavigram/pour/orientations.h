// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/pour/footing.h"
#include "cavigram/pour/way_weights.h"
#include "cavigram/spatial/proxy.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/placed_holes.h"
#include "cavigram/venting/pockets.h"
#include "cavigram/venting/show_side.h"

namespace cavigram {

/// What one way up is worth.
struct WayUp {
    Vec3 up = Vec3::UnitZ();       ///< Unit, in the part's coordinates.
    double unvented_mm3 = 0.0;     ///< Air that stays with a pour hole on the highest place and no
                                   ///< vent; all of it where the pour hole lets none out.
    std::size_t vents_needed = 0;  ///< To leave no more than the limit.
    std::size_t vents_made = 0;    ///< Those, but no more than allowed.
    double vented_mm3 = 0.0;       ///< Air that stays with these.
    double worst_vented_mm3 =
        0.0;  ///< With the same holes, when the mold leans; the worst of eight sides.
    double height_mm = 0.0;         ///< Of the part in this way up.
    std::size_t holes_on_show = 0;  ///< Pour hole and vents that fall on the show side.
    Footing footing;                ///< What it takes up on the bench, and whether it stands.
};

/// One row of the answer.
struct RankedWayUp {
    WayUp value;          ///< On the full mesh.
    int rank = 0;         ///< 1: recommended.
    bool pareto = false;  ///< No other row is better in one respect and no worse in the others.
    bool asked = false;   ///< The way up that the user has in mind.
    /// From the pour hole to the farthest place along the surface; on the proxy. 0 without one.
    double path_mm = 0.0;
    /// How full the cavity is, on average, when a level of foam gets to its thinnest tenth
    /// (thin_arrival); on the proxy. None if the part is thin nowhere but at edges.
    std::optional<double> thin_arrival_share = {};
    double score = 0.0;     ///< With weights: 0 is best in all, 1 worst in all; else 0.
    double lean_deg = 0.0;  ///< How far it may lean, of those tried, before more than the limit is
                            ///< added; on the proxy.
    Openings holes;         ///< As they would be drilled.
    std::vector<std::string> reasons;  ///< In words, quantities told, the weightiest first.
};

/// Air left, for one of the directions of the first look.
struct ScannedWayUp {
    Vec3 up = Vec3::UnitZ();    ///< Unit.
    double vented_mm3 = 0.0;    ///< As WayUp.
    double unvented_mm3 = 0.0;  ///< As WayUp.
};

/// The ranked ways up, and how they were found.
struct Orientations {
    std::vector<RankedWayUp> rows;      ///< Best first, no more than ten.
    std::vector<ScannedWayUp> scanned;  ///< All of the first look, on the proxy: for a map.
    std::size_t looked_at = 0;          ///< Judged, leans and all.
    double limit_mm3 = 0.0;             ///< Air that needs no vent.
    double lean_deg = 0.0;              ///< As requested.
    std::size_t most_vents = 0;         ///< As requested.
    PourHoleAfter pour_hole_after = PourHoleAfter::vented;  ///< As requested.
    std::size_t proxy_triangles = 0;                        ///< Of the stand-in.
    double proxy_deviation_mm = 0.0;  ///< Largest distance found between it and the part.
};

/// What the search is told.
struct OrientationOptions {
    int directions = 2000;       ///< Of the first look: one every 4.5 degrees.
    std::size_t most_vents = 3;  ///< As many as may be made.
    /// Where the pour hole lets no air out, the highest place needs a vent too.
    PourHoleAfter pour_hole_after = PourHoleAfter::vented;
    /// Air that needs no vent. Default: the larger of 0.1 cm3 and 0.1 % of the part (common
    /// practice, no source). Residues are told apart in steps of default_min_volume_mm3, or of this
    /// where it is less.
    std::optional<double> limit_mm3 = {};
    double lean_deg = 3.0;           ///< Nobody levels a mold better (common practice, no source).
    std::optional<Vec3> asked = {};  ///< A way up to score beside the others.
    std::optional<ShowSide> show = {};  ///< The side that is seen: holes on it are counted.
    /// How the holes of the ways up that are listed are placed, so that their figures are those of
    /// the holes that would be drilled. None: by the three options above, each as wide as HoleRules
    /// has it by default.
    std::optional<HoleRules> holes = {};
    /// The user's own weights; none: ranked in a fixed order. Each measure counts by its place
    /// between the least and the most of all ways up of the first look, path and arrival between
    /// those of the finalists.
    std::optional<WayWeights> weights = {};
    std::size_t finalists = 5;            ///< Scored on the full mesh; at most 9.
    std::size_t proxy_triangles = 16000;  ///< Of the stand-in that most positions are scored on.

    /// Field by field.
    friend bool operator==(const OrientationOptions&, const OrientationOptions&) = default;
};

/// What the search comes to before holes are drilled and the ways up are ranked.
struct FoundWays {
    std::shared_ptr<const AirTreeBuilder> coarse;  ///< The stand-in that they were scored on.
    double proxy_deviation_mm = 0.0;               ///< As Orientations.
    std::vector<WayUp> seen;                       ///< All of the first look.
    std::vector<WayUp> ways;                       ///< The best of them, refined; best first.
    std::size_t looked_at = 0;                     ///< Judged, leans and all.
};

/// Searches all ways up for the one in which a rising foam leaves the least air, with the fewest
/// vents.
///
/// First look at evenly spread directions, the coordinate and the principal axes, on a decimated
/// proxy; the best and those that are best in one respect are refined by a pattern search with
/// steps of 1.5, 0.5 and 0.15 degrees; the finalists are scored on the full mesh with their holes
/// where they can be drilled (placed_holes), which keeps them off the show side. Ranked, unless
/// weights are given, in this order: air left when the mold leans, in small steps (see limit_mm3),
/// then holes on the show side, then vents needed, then height. (Casting direction by sampling:
/// exact answers cost O(n^2), Bose, van Kreveld & Toussaint, Comput. Aided Des. 30 (1998) 245.)
/// Same answer for any number of threads.
///
/// O(directions * proxy triangles + finalists * triangles).
///
/// \pre `solid` is of the part.
///
/// \throw InvalidInput for an option out of range, a direction that is zero, or a weight on the
/// path from a pour hole that there shall not be.
///
/// \throw Cancelled
[[nodiscard]] Orientations orientations(const AirTreeBuilder& solid,
                                        const OrientationOptions& options = {},
                                        const RunContext& context = {});

/// The search alone, which takes nearly all of the time. It asks neither for `asked` nor for
/// `holes`.
///
/// \throw as orientations
[[nodiscard]] FoundWays find_ways(const AirTreeBuilder& solid,
                                  const OrientationOptions& options = {},
                                  const RunContext& context = {});
/// The same on a stand-in that was made before.
///
/// \pre `stand_in` is decimated_proxy of the solid's mesh with `options.proxy_triangles`
///
/// \throw as orientations
[[nodiscard]] FoundWays find_ways(const AirTreeBuilder& solid, Proxy stand_in,
                                  const OrientationOptions& options, const RunContext& context);

/// Drills the holes of the best that were found and of the way up that was asked for, and ranks
/// them.
///
/// \pre `found` is of the same solid, with the same options but for `asked` and `holes`
///
/// \throw as orientations
[[nodiscard]] Orientations ranked_ways(const AirTreeBuilder& solid, const FoundWays& found,
                                       const OrientationOptions& options = {},
                                       const RunContext& context = {});

/// Scores one way up on one solid, as the search does.
///
/// \throw InvalidInput
[[nodiscard]] WayUp way_up(const AirTreeBuilder& solid, const Vec3& up,
                           const OrientationOptions& options = {});

}  // namespace cavigram
