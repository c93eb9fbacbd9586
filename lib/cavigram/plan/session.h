// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/io/soup.h"
#include "cavigram/plan/plan.h"

namespace cavigram {

/// How often a session computed each of its costly steps.
struct SessionCounts {
    std::size_t read = 0;            ///< The part's file.
    std::size_t mended = 0;          ///< The part.
    std::size_t measured = 0;        ///< Its volume, area, moments.
    std::size_t indexed = 0;         ///< Its surface.
    std::size_t skin_depths = 0;     ///< Depth samples.
    std::size_t thicknesses = 0;     ///< Thickness maps for thin places and density.
    std::size_t thin_places = 0;     ///< Lists of thin places.
    std::size_t density_maps = 0;    ///< Of the surface.
    std::size_t rods = 0;            ///< Armatures that were laid.
    std::size_t in_the_hand = 0;     ///< Beams for weight and droop.
    std::size_t air_builders = 0;    ///< What air trees are built from.
    std::size_t air_trees = 0;       ///< One for each way up and each way down.
    std::size_t placed_holes = 0;    ///< Pour holes and vents for a way up.
    std::size_t necks = 0;           ///< Looks for narrow necks.
    std::size_t second_methods = 0;  ///< The air by columns.
    std::size_t way_searches = 0;    ///< Searches for a way up.
    std::size_t way_rankings = 0;    ///< Rankings of what they found, holes drilled.
    std::size_t splits = 0;          ///< Pull directions and parting lines.
    std::size_t mold_shapes = 0;     ///< Offsets around the part.
    std::size_t rise_grids = 0;      ///< Cavities cut into cells.
    std::size_t rises = 0;           ///< Rises that were followed.
    std::size_t pictures = 0;        ///< Stand-ins that are shown.

    /// Field by field.
    friend bool operator==(const SessionCounts&, const SessionCounts&) = default;
};

/// What can be drawn of a pocket of air: it lies above the level pocket.spill_height_mm, under
/// `triangles`.
struct PocketShape {
    Pocket pocket;  ///< As listed.
    /// Of the stand-in that is shown (DisplayBlock::mesh; a small part itself), in rising order:
    /// those with a corner above that level that lies next to the pocket's own surface. None for a
    /// pocket that is nested in another, whose they are.
    std::vector<std::int32_t> triangles;
};

/// The air for one way up, while a person turns the part.
struct TurnedAir {
    /// As Plan::air, but without pools, necks, show cost and the second method, which take longer.
    AirBlock air;
    std::vector<PocketShape> unvented;  ///< Pockets with the pour holes alone.
    std::vector<PocketShape> left;      ///< Pockets that stay with the vents as well.
    double squeezed_mm3 = 0.0;          ///< air.trapped_vented_mm3 once the foam presses on it.
    double squeezed_g = 0.0;            ///< Foam that is missing there, by the part's mean density.
};

/// Plans one part again and again, and computes again only what depends on what changed.
///
/// What is costly is kept with all that it was computed from, values and results of earlier steps,
/// and is taken again while these are the same (docs/rooms/plan.md). So every plan is the one that
/// a fresh make_plan gives, byte for byte, whatever was asked for before, and however that ended: a
/// request that is refused or stopped leaves what was computed until then. A part's file is read
/// again when its size or its time of writing changes.
///
/// For one thread at a time; a call uses as many threads as its context says. It keeps one part
/// with all that was computed of it.
class Session {
  public:
    /// Of the files that are asked for; another file lets go of the last one.
    Session();
    /// Of a mesh in the place of the part's file, which then only lends its name.
    explicit Session(Soup soup);
    ~Session();
    /// Takes over what was kept.
    Session(Session&& other) noexcept;
    /// As above.
    Session& operator=(Session&& other) noexcept;

    /// As make_plan.
    ///
    /// \throw InvalidInput, UnusableInput, Cancelled
    [[nodiscard]] Plan plan(const PlanRequest& request, const Stages& stages,
                            const RunContext& context = {});

    /// The air for another way up than the request's: what a plan with foam and air would say of
    /// it. The foam is weighed as the request wants it.
    ///
    /// O(triangles) once the part, its skin and its stand-in are known.
    ///
    /// \throw InvalidInput, UnusableInput, Cancelled
    [[nodiscard]] TurnedAir air(const PlanRequest& request, const Vec3& up,
                                const RunContext& context = {});

    /// What was computed so far.
    [[nodiscard]] SessionCounts counts() const;

  private:
    struct Impl;
    std::unique_ptr<Impl> impl_;
};

}  // namespace cavigram
