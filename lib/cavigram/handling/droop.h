// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

#include "cavigram/geom/directions.h"
#include "cavigram/geom/vector.h"
#include "cavigram/handling/foam_stiffness.h"

namespace cavigram {

/// A short length of a part seen as a beam, with the section at its middle.
struct BeamElement {
    Vec3 from_mm = Vec3::Zero();        ///< Where it begins on the beam's line,
    Vec3 to_mm = Vec3::Zero();          ///< and where it ends.
    Frame frame;                        ///< Of the section; z along the element.
    Vec3 section_at_mm = Vec3::Zero();  ///< Origin of the section's coordinates.
    Rigidity foam;                      ///< Of skin and core.
    std::optional<Rigidity> rod;        ///< Of a rod in it, less the foam that it displaces.
    double mass_g = 0.0;                ///< With all that hangs on it.
    Vec3 mass_at_mm = Vec3::Zero();     ///< Where that mass has its centroid.
};

/// How a beam is held, and which way it hangs.
struct DroopOptions {
    /// The node, 0 before the first element, at which a hand clamps the beam.
    std::size_t grip = 0;
    /// A second hand: both then carry without holding the beam's slope. Another node than grip.
    std::optional<std::size_t> second_grip;
    /// The foam of all elements so many times as stiff, rods apart.
    double foam_factor = 1.0;
    /// Large deflections: weights move with the beam, which keeps its length. For one grip only.
    bool large = true;
    bool shear = true;  ///< False: Euler's theory, for slender beams.
};

/// What droops: from a grip to an end, or between two grips.
struct DroopSpan {
    /// An end that hangs free, or what lies between two grips.
    enum class Is { first_end, last_end, between };
    Is is = Is::last_end;          ///< Which.
    std::size_t node = 0;          ///< The end, or between two grips the node that droops most.
    double length_mm = 0.0;        ///< Along the beam: from the grip, or between the grips.
    double droop_mm = 0.0;         ///< Downward, of that node.
    double linear_droop_mm = 0.0;  ///< By the theory of small deflections.
    Vec3 moved_mm = Vec3::Zero();  ///< Of that node.
    double slope_deg = 0.0;        ///< How far the beam has turned there.
    bool settled = true;           ///< False: large deflections did not settle; linear ones stand.

    /// Droop over length.
    [[nodiscard]] double share() const { return length_mm > 0.0 ? droop_mm / length_mm : 0.0; }
};

/// Where each node goes, and the spans.
struct Droop {
    std::vector<DroopSpan> spans;  ///< One for each length above 0.
    std::vector<Vec3> moved_mm;    ///< Of each node; one more than elements.
};

/// How far a beam that is held at one node, or at two, droops under its own weight.
///
/// Each element bends, twists and shears (5/6 of its area) by what all mass beyond its middle does
/// to it: a beam so held is statically determinate. One grip clamps; beyond it the elastica: the
/// moments are those of the bent beam, found by relaxed repetition to 1e-9 of the largest
/// curvature. Two grips carry like hinges and keep the beam from turning about its length; small
/// deflections. Errors fall with the square of the elements' length.
///
/// O(elements * repetitions).
///
/// \pre elements follow each other; `down` is not zero; grips within 0 to the number of elements
[[nodiscard]] Droop droop(std::span<const BeamElement> elements, const Vec3& down,
                          const DroopOptions& options = {});

/// Of the ways down across the line from end to end of the beam, the one in which it droops most,
/// by small deflections; of 24 around, those within rounding of the most to the first.
///
/// \pre as droop
[[nodiscard]] Vec3 worst_way_down(std::span<const BeamElement> elements,
                                  const DroopOptions& options = {});

}  // namespace cavigram
