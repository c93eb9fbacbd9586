// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "cavigram/cavity/deepest.h"
#include "cavigram/core/run_context.h"
#include "cavigram/mesh/tri_mesh.h"
#include "cavigram/spatial/triangle_bvh.h"

namespace cavigram {

/// How finely the depth is sampled.
struct DepthOptions {
    /// Depths in mm that matter to the caller, as the skin's thickness. The curve has nodes there,
    /// is sampled from half the least of them inwards, and is refined until each meets
    /// `wanted_relative_error`. Empty: twelve depths from a twentieth of the deepest on.
    std::vector<double> depths_mm = {};
    /// Estimated error of the skin volume that is good enough; the default is far below what a scan
    /// or a thickness gauge can tell.
    double wanted_relative_error = 0.003;
    /// Edge of the finest cells in mm. Empty: refine until the wanted error is met or max_cells is
    /// in the way.
    std::optional<double> cell_mm = {};
    /// The most cells to spend: each takes some microseconds, none stays in memory. When it is
    /// reached the error is what it is, and given as such.
    std::size_t max_cells = 4'000'000;
    /// The part's true volume where the surface overlaps itself and its signed volume counts twice
    /// (columns.h). Empty: the signed volume.
    std::optional<double> volume_mm3 = {};

    /// Field by field.
    friend bool operator==(const DepthOptions&, const DepthOptions&) = default;
};

/// How much of a part lies within a depth d of its surface, for every d: the curve W(d) from W(0) =
/// 0 to W(deepest) = the whole volume.
///
/// Between nodes a cubic that keeps the curve rising (Fritsch & Carlson, SIAM J. Numer. Anal. 17
/// (1980) 238), with slope W'(0) = the area.
struct DepthVolume {
    double volume_mm3 = 0.0;  ///< Of the whole part.
    double area_mm2 = 0.0;    ///< Of the surface.
    DeepestPoint deepest;     ///< The deepest point.

    std::vector<double> depth_mm;       ///< The nodes, rising from 0 to the deepest depth.
    std::vector<double> skin_mm3;       ///< W at the nodes.
    std::vector<double> estimated_mm3;  ///< Estimated error of W at the nodes.
    std::vector<double> at_least_mm3;  ///< W is certainly no less (rounding aside): from cells that
                                       ///< are skin throughout.
    std::vector<double>
        at_most_mm3;  ///< W is certainly no more: all cells that are not core throughout.
    std::vector<double> slope_mm2;  ///< W' at the nodes: the area of the surface at that depth.

    double cell_mm = 0.0;   ///< Edge of the finest cells used.
    std::size_t cells = 0;  ///< Number of points at which the depth was measured, in the last pass.

    /// W(d); 0 for d <= 0, the whole volume from the deepest point on.
    ///
    /// O(log nodes).
    [[nodiscard]] double skin_volume_mm3(double depth) const;
    /// What lies deeper than d.
    [[nodiscard]] double core_volume_mm3(double depth) const {
        return volume_mm3 - skin_volume_mm3(depth);
    }
    /// Estimated error of either, interpolated.
    [[nodiscard]] double error_mm3(double depth) const;
};

/// Samples the depth below the surface on adaptive cells and adds up W(d) for all d at once.
///
/// Cells are halved until they are a fraction of the depth they lie at, or until the depth is
/// linear in them; each finest cell then adds the exact share of a cube on either side of the plane
/// that the depth and its gradient at the center give. Only what is deeper than d is summed, W is
/// the exact volume less that, so the surface itself need not be resolved. The same is summed once
/// more from the parents' planes; from the two, at edges h and 2h and with errors as h^2,
/// Richardson's extrapolation gives the value, and their difference the estimate of its error.
/// |depth| changes no faster than distance, which gives the sure bounds. Exact distances throughout
/// (TriangleBvh).
///
/// Cost about 12 area / depth^2 nearest-point queries for the least wanted depth, fewer on flat
/// walls. On a rough scan the depth is taken from the nearest bump, so noise of sigma makes W grow
/// by up to 2 area sigma; give the options a smoothed copy to see how much.
///
/// \pre `surface` is the index of `mesh`, closed and outward oriented.
///
/// \throw InvalidInput for options out of range or a cell_mm that needs more than max_cells, with
/// the size that would fit
///
/// \throw UnusableInput if the volume is not positive.
///
/// \throw Cancelled
[[nodiscard]] DepthVolume depth_volume(const TriMesh& mesh, const TriangleBvh& surface,
                                       const DepthOptions& options = {},
                                       const RunContext& context = {});

}  // namespace cavigram
