// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/measure/thickness.h"

namespace cavigram {

/// What counts as thin.
struct ThinOptions {
    /// Walls thinner than this belong to a thin place. Empty: the larger of twice the skin and the
    /// flow gap.
    std::optional<double> limit_mm = {};
    double skin_mm = 0.0;      ///< Skin thickness: a wall of less than twice this has no core.
    double flow_gap_mm = 0.0;  ///< Foam has trouble entering narrower gaps. 0: not judged.
    /// Places of less area are counted but not listed. Empty: for each place the larger of 4 times
    /// the square of its own typical thickness, a patch about as large as it is thick, and the
    /// square of the limit or, if that is less, of the flow gap: a scan's folds and slivers are
    /// thinner than any wall, and smaller than that.
    std::optional<double> least_area_mm2 = {};
};

/// A place where the part is thinner than the limit: both sides of the wall together.
struct ThinRegion {
    double least_mm = 0.0;    ///< Thinnest sample.
    double typical_mm = 0.0;  ///< Median by area.
    double thickness_mm =
        0.0;  ///< 5th percentile by area: the least without the odd outlier. The figure to show.
    double area_mm2 = 0.0;      ///< Of the surface, both sides counted.
    double volume_mm3 = 0.0;    ///< About what lies between: area times half the thickness.
    Vec3 at_mm = Vec3::Zero();  ///< A point of the surface, in the middle of the thinnest part.
    std::int32_t triangle = 0;  ///< The triangle it lies on.
    Box3 extent_mm;             ///< Around its samples.
    bool all_skin = false;      ///< Mostly thinner than twice the skin: no core.
    bool hard_to_fill = false;  ///< Narrower than the flow gap.
    double severity = 0.0;  ///< Area times the share by which it falls short of the limit; what the
                            ///< list is sorted by.
};

/// Places that were too small to list.
struct SmallRegions {
    std::size_t count = 0;  ///< Of them.
    double area_mm2 = 0.0;  ///< Of all of them together.
};

/// The thin places, worst first.
struct ThinRegions {
    ThinOptions options;              ///< What they were looked for with,
    double limit_mm = 0.0;            ///< and the limit as it was settled.
    std::vector<ThinRegion> regions;  ///< Worst first.
    SmallRegions small;               ///< Those too small to be listed.
    /// For each sample of the map the index of its region in `regions`, or -1.
    std::vector<std::int32_t> of_sample;
};

/// Groups the samples that are thinner than the limit into places.
///
/// Neighboring samples belong together when their normals agree, and so do the two sides of a wall.
/// Convex edges, corners and blunt tips are thin on any part and left out: a place needs walls that
/// face each other (Contact). So a rod of triangular section is not listed, a square or round one
/// is. Places closer than about three times the map's spacing count as one.
///
/// O(samples).
///
/// \pre the map's cap, if any, is above the limit; `adjacency` is that of the map's mesh
///
/// \throw InvalidInput if no limit is given or implied
[[nodiscard]] ThinRegions thin_regions(const Adjacency& adjacency, const ThicknessMap& map,
                                       const ThinOptions& options);

}  // namespace cavigram
