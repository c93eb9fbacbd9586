// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <vector>

#include "cavigram/cavity/columns.h"
#include "cavigram/molding/locked_space.h"

namespace cavigram {

/// How far rubber must stretch for one pocket to let go. Shares: 0.5 is half as long again.
struct PocketStretch {
    /// Around the part: the perimeter of part and pocket together over that of the part, less 1.
    double ring = 0.0;
    /// Through a mouth: how much wider the rubber is behind it, less 1; what must be squeezed.
    double plug = 0.0;
    double mouth_mm = 0.0;   ///< Width of the mouth; 0: there is none.
    double behind_mm = 0.0;  ///< Width behind it.
    /// The rubber in it holds together across it, as between the turns of a coil: it closes around
    /// a piece of the part, and only a slit lets it go.
    bool bridge = false;
    /// Width of a mouth that is too narrow to be judged: rubber so thin tears as it is drawn out,
    /// or the columns can't tell. Not in `plug`. 0: there is none.
    double narrow_mm = 0.0;
    /// The larger of both; where only a slit lets go, what is left once there is one.
    [[nodiscard]] double most() const { return ring > plug && !bridge ? ring : plug; }
};

/// The stretch of all listed pockets.
struct ReleaseStretch {
    double most = 0.0;                   ///< Of all pockets.
    std::vector<PocketStretch> pockets;  ///< In the order of LockedSpace::pockets.
};

/// What is measured.
struct ReleaseStretchOptions {
    int levels = 9;  ///< Heights at which each pocket is measured; 1 or more.
    /// Pockets no deeper across the pull than this many columns are noise of the grid.
    double least_columns = 1.5;
    double least_mm3 = 0.0;  ///< Smaller pockets are not measured.
    /// Rubber squeezed through a narrower mouth is not judged by its stretch; nor is one of less
    /// than two columns.
    double least_mouth_mm = 0.0;
};

/// How far the rubber in each pocket of locked space must stretch to let go.
///
/// In sections across the pull. Ring: rubber that lies in the pocket must get around what locks it,
/// so that a string around the pieces of the part that it clings to grows from their hull's
/// perimeter to that of their hull with the pocket. Plug: where rubber fills the pocket from a
/// mouth between two walls, it must be squeezed from its width behind the mouth to that of the
/// mouth, seen along the pull; the median over the pocket of each section. Bridge: the pocket
/// borders on two pieces of free space that the section parts, on each with three columns or more.
/// Estimates: friction and the rubber's thickness are not known. A slit does away with the ring.
///
/// O(pockets * levels * columns)
///
/// \pre `space` is of `cut`
[[nodiscard]] ReleaseStretch release_stretch(const ColumnCut& cut, const LockedSpace& space,
                                             const ReleaseStretchOptions& options = {});

/// A range of shares.
struct StretchRange {
    double low = 0.0;   ///< Least.
    double high = 0.0;  ///< Most.
};

/// How far a tongue of rubber stretches at its root when its free end is bent aside: a cantilever's
/// root strain 1.5 w d / l2 (deflection d = F l3 / 3 E I, strain = F l w / 2 E I), from 0.8 to 1.8
/// times as much since a thick short tongue is no slender beam. \pre all above 0
[[nodiscard]] StretchRange tongue_stretch(double rubber_mm, double aside_mm, double free_mm);

}  // namespace cavigram
