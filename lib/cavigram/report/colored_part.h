// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>

#include "cavigram/plan/plan.h"

namespace cavigram {

/// The part with a color at each vertex, as files' bytes.
struct ColoredPart {
    std::string ply;  ///< As binary PLY.
    std::string glb;  ///< As GLB.
};

/// What the dark violet and the yellow end of the color map stand for. Dark asks for attention in
/// every file and picture of ours: thin, dense, stiff, air that stays.
struct ColorEnds {
    double violet = 0.0;  ///< The value at the dark end.
    double yellow = 1.0;  ///< The value at the bright end.
    /// 0 at the violet end to 1 at the yellow one and beyond; 1 where both are the same.
    [[nodiscard]] double share(double value) const;
};

/// In mm: from 0 to kShownOverLimit times the limit of what counts as thin.
///
/// \pre plan.thin
[[nodiscard]] ColorEnds thickness_ends(const Plan& plan);
/// In kg/m3: from the denser of core and skin to the lighter.
///
/// \pre plan.foam
[[nodiscard]] ColorEnds density_ends(const Plan& plan);
/// In s from the start of stirring: from when foam comes last to the end of the work time.
///
/// \pre plan.rise
[[nodiscard]] ColorEnds arrival_ends(const Plan& plan);

/// Colors by thickness, viridis between thickness_ends.
///
/// \pre plan.thin
[[nodiscard]] ColoredPart thickness_colored(const Plan& plan);

/// Colors by the mean density beneath the surface, viridis between density_ends.
///
/// \pre plan.foam->density
[[nodiscard]] ColoredPart density_colored(const Plan& plan);

/// Colors by when foam gets there, viridis between arrival_ends; where it never does as where it
/// comes last.
///
/// \pre plan.rise
[[nodiscard]] ColoredPart arrival_colored(const Plan& plan);

}  // namespace cavigram
