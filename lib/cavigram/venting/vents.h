// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/venting/air_tree.h"
#include "cavigram/venting/pockets.h"
#include "cavigram/venting/show_side.h"

namespace cavigram {

/// A vent at a peak, or below one where it has to keep off the show side.
struct Vent {
    Vec3 place_mm = Vec3::Zero();   ///< On the surface; the middle of a level peak.
    double height_mm = 0.0;         ///< Of the place.
    double gain_mm3 = 0.0;          ///< Air that it lets out beyond those before it.
    double residual_mm3 = 0.0;      ///< Air that stays with it and all before it.
    std::int32_t peak_vertex = -1;  ///< Of the mesh.
    std::int32_t arc = -1;          ///< The arc of the air tree that it stands on.
    int merged = 0;  ///< Further places that lie within its width, whose air it lets out too.
};

/// The best vents, in order: for every k the first k leave the least air that any k vents can.
struct VentPlan {
    std::vector<Opening> openings;  ///< Pour holes, and vents that are there already.
    double trapped_mm3 = 0.0;       ///< With these openings alone.
    std::vector<Vent> vents;        ///< Those worth listing.
    std::size_t hidden_count = 0;   ///< Further places whose gain is below the least.
    double hidden_mm3 = 0.0;        ///< What these would gain together.
    std::vector<double> gains_mm3;  ///< Of all places, listed or not, largest first.
};

/// What is there already, and where vents may be.
struct VentOptions {
    Openings openings = {};  ///< Pour holes and existing vents.
    /// Least gain of a vent that is listed. Default as PocketOptions::min_volume_mm3.
    std::optional<double> min_gain_mm3 = {};
    std::size_t most_listed = 100;  ///< No more than these, so that a rough scan stays readable.
    std::optional<double> snap_limit_mm = {};  ///< As in PocketOptions.
    /// Width of the hole: places nearer to each other than this get one vent, and none is made
    /// within a vent, or a pour hole that lets air out. 0: each place its own.
    double width_mm = 0.0;
    /// Where vents may be, one for each arc, as from places_off; empty: on every peak.
    std::vector<HolePlace> allowed = {};
};

/// Finds the best vent places for every count at once.
///
/// O(arcs log arcs), and as placed_openings.
///
/// A vent at a peak frees the trapped air of every arc from there down to the root, so k vents free
/// the union of k such paths. The largest union for every k is found greedily: take the heaviest
/// path, then again and again the one that adds most. (The same holds for choosing species that
/// together span the most of an evolutionary tree: Steel, Syst. Biol. 54 (2005) 527; Pardi &
/// Goldman, PLoS Genet. 1 (2005) e71.) Where vents are allowed in some places only, the tree is cut
/// off above the highest of each branch and the same holds for what is left; the air above stays.
/// Merging vents that lie within one width keeps the order but not the promise of the best.
///
/// \throw InvalidInput as placed_openings
[[nodiscard]] VentPlan vent_plan(const AirTreeBuilder& solid, const AirTree& tree,
                                 const VentOptions& options = {});

/// The same in one call, for one way up.
[[nodiscard]] VentPlan vent_plan(const Part& part, const Vec3& up, const VentOptions& options = {},
                                 const RunContext& context = {});

/// Only the gains, largest first, with a pour hole on the highest place of each solid; where that
/// lets no air out, the first vent of each solid has to make up for it. For ranking many ways up:
/// the air left with k vents is the sum of all gains but the first k.
///
/// O(arcs log arcs).
[[nodiscard]] std::vector<double> vent_gains_mm3(
    const AirTree& tree, PourHoleAfter pour_hole_after = PourHoleAfter::vented);

/// How many vents leave no more than `limit_mm3` of air.
///
/// \pre gains as above; limit >= 0
[[nodiscard]] std::size_t vents_needed(std::span<const double> gains_mm3, double limit_mm3);

}  // namespace cavigram
