// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <vector>

#include "cavigram/core/finding.h"
#include "cavigram/core/run_context.h"
#include "cavigram/repair/part.h"

namespace cavigram {

/// How far mending may go.
enum class MendLevel {
    off,     ///< Equal corners are joined, that is all; what is not closed then is refused.
    gentle,  ///< Nothing is made up but holes narrower than 2 % of the part's diagonal; crossings
             ///< stay.
    full,    ///< Everything, up to a wrap.
};

/// What shells within shells are.
enum class Hollows {
    keep,  ///< Hollow space where they look the other way, as the surface says; else solid.
    fill,  ///< Filled with foam: the inner shells go.
};

/// How far mending may go.
struct MendOptions {
    MendLevel level = MendLevel::full;  ///< What is done and what is only told.
    Hollows hollows = Hollows::keep;    ///< Whether closed shells within the part are hollow space.
    /// Keep every closed piece, however small. Open scraps go in any case unless level is off.
    bool keep_scraps = false;
    /// Replace the surface by a wrap around it, even if it could be mended otherwise.
    bool wrap = false;
    /// Look for triangles that cross. Off: a little faster, and overlapping solids are counted
    /// twice without a word.
    bool crossings = true;
    /// Look for slivers, spikes and noise, and widen the range by the noise.
    bool survey = true;
    /// Holes wider than this are not closed, and the part is refused. None: any hole is closed that
    /// makes up no more than 15 % of the area, or of the volume; larger ones must be asked for by
    /// their width.
    std::optional<double> largest_hole_mm = std::nullopt;
    /// Pieces with less than this share of the whole area are scraps and dropped. 1e-4: a hair on a
    /// scan, not a finger.
    double scrap_share = 1e-4;

    /// Field by field.
    friend bool operator==(const MendOptions&, const MendOptions&) = default;
};

/// A part, and what was noticed on the way.
struct Mended {
    Part part;                      ///< What came out.
    std::vector<Finding> findings;  ///< What a person should know of it.
};

/// Makes a closed, outward-oriented part of triangles in millimeters.
///
/// A file that is sound takes the fast path: exact weld, check of all edges, check of how the
/// shells nest; no halfedge structure is built. For the rest, cheapest first, each step logged with
/// count, places and what it did to the volume: repeated and folded triangles go, touching edges
/// are parted, faces are turned to agree, cracks closed, scraps dropped, holes closed, tangles cut
/// out and refilled, what crosses made one solid, shells turned outward and hollows inward. If no
/// closed surface comes out although winding numbers say that there is a solid, it is wrapped.
/// Lastly the volume's range is widened by the surface's own noise, where that is more than 1e-4 of
/// the diagonal: area times noise, as if all of it lay off to one side.
///
/// \throw UnusableInput with a place, if no closed surface comes out that encloses a volume.
/// \throw Cancelled
[[nodiscard]] Mended mend(const TriMesh& soup_mm, const MendOptions& options = {},
                          const RunContext& context = {});

}  // namespace cavigram
