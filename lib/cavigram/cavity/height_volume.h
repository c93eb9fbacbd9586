// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "cavigram/core/run_context.h"
#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram {

/// How much of a part lies below each level, for one way up: where a poured volume would stand if
/// it could reach everywhere.
///
/// Exact for the mesh, without cutting it: over a triangle of heights a >= b >= c and projected
/// area P (positive looking up) the field (h - s) up carries P times the mean of max(h - s, 0),
/// which is a cubic in s with three cases; summed over the surface that is the volume above s,
/// since the cut itself carries nothing (divergence theorem). Its slope is the area of the section.
/// On a surface that crosses itself space counts as often as the surface winds around it.
class HeightVolume {
  public:
    /// O(n log n).
    ///
    /// \pre closed, `up` not zero.
    ///
    /// \throw InvalidInput for an `up` of zero.
    ///
    /// \throw Cancelled
    HeightVolume(const TriMesh& mesh, const Vec3& up, const RunContext& context = {});

    [[nodiscard]] const Vec3& up() const { return up_; }        ///< Unit.
    [[nodiscard]] double lowest_mm() const { return lowest_; }  ///< Along up, from the origin.
    /// Height of the highest point.
    [[nodiscard]] double highest_mm() const { return highest_; }
    [[nodiscard]] double volume_mm3() const { return volume_; }  ///< Of the whole part, signed.

    /// Volume below a level; 0 at the lowest point and under it, the whole volume from the highest
    /// on. About O(sqrt n).
    [[nodiscard]] double volume_below_mm3(double level_mm) const;
    /// Area of the horizontal section at a level; at a flat floor or ceiling the section just above
    /// it. About O(sqrt n).
    [[nodiscard]] double section_area_mm2(double level_mm) const;
    /// The level below which `volume` lies, to a few roundings of the part's height; the lowest or
    /// highest point for volumes outside 0 to the whole.
    ///
    /// \pre the surface is not inside out
    [[nodiscard]] double level_for_volume_mm(double volume_mm3) const;

  private:
    struct Piece {
        double top, middle, bottom;  // about lowest_
        double area;                 // projected, signed
    };
    struct Sums {
        double volume, area;
    };
    void take_pieces(const TriMesh& mesh, const RunContext& context);
    void sum_from_above();
    void fill_bins();
    [[nodiscard]] Sums above(double height) const;
    [[nodiscard]] std::size_t bin_of(double height) const;

    Vec3 up_ = Vec3::UnitZ();
    double lowest_ = 0.0;
    double highest_ = 0.0;
    double volume_ = 0.0;
    std::vector<Piece> pieces_;           // by bottom, rising
    std::vector<double> area_from_;       // sums over the pieces from each one on
    std::vector<double> moment_from_;     // of area times mean height
    std::vector<std::size_t> bin_first_;  // pieces that reach into each layer of heights
    std::vector<std::uint32_t> bin_pieces_;
};

}  // namespace cavigram
