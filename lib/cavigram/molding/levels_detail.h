// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

#include "cavigram/cavity/columns.h"
#include "cavigram/molding/release_stretch.h"
#include "cavigram/molding/small_tunnels.h"

// Flat sections through columns, across their direction.
namespace cavigram::detail {

// Rubber that reaches this share of the diagonal behind the part, across the pull, is a lump that
// no stretching brings out sideways: it takes a third part. A guess.
inline constexpr double kFarAside = 0.1;

// What a column is at a height: solid, between two stretches, or free to one side or both.
enum CellKind : std::uint8_t { kSolid = 0, kAbove = 1, kBelow = 2, kFree = 3, kGap = 4 };

struct Cell {
    std::uint8_t kind = kFree;
    std::int32_t gap = -1;  // index over all gaps of the cut
};

// The stretches of all columns in one array, and sections through them.
class Levels {
  public:
    // `one_piece`: below the part nothing is free.
    Levels(const ColumnCut& cut, bool one_piece);

    [[nodiscard]] int count_x() const { return count_x_; }
    [[nodiscard]] int count_y() const { return count_y_; }
    [[nodiscard]] double spacing_mm() const { return spacing_mm_; }
    // Height of the lowest place.
    [[nodiscard]] double floor_mm() const { return floor_mm_; }
    [[nodiscard]] const std::vector<ColumnStretch>& stretches() const { return stretches_; }
    // First stretch of each column, and one past the last.
    [[nodiscard]] const std::vector<std::size_t>& first() const { return first_; }
    // First gap of each column, and one past the last.
    [[nodiscard]] const std::vector<std::size_t>& first_gap() const { return first_gap_; }

    [[nodiscard]] Cell cell(std::size_t column, double height_mm) const;
    // The section at a height, with a row of free cells all around: cell (x + 1, y + 1) is column
    // (x, y), x running fastest.
    [[nodiscard]] std::vector<Cell> section(double height_mm) const;
    // Cells of a section along x and y.
    [[nodiscard]] int wide() const { return count_x_ + 2; }
    [[nodiscard]] int high() const { return count_y_ + 2; }

  private:
    int count_x_ = 0;
    int count_y_ = 0;
    double spacing_mm_ = 0.0;
    double floor_mm_ = 0.0;
    bool one_piece_ = false;
    std::vector<ColumnStretch> stretches_;
    std::vector<std::size_t> first_;
    std::vector<std::size_t> first_gap_;
};

// Takes what the rubber in tunnels that are filled on the master would have to stretch, and to move
// aside, out of the answer. A pocket much larger than such a tunnel stays.
void leave_out_filled(const ColumnCut& cut, LockedSpace& space,
                      const std::vector<SmallTunnel>& filled, ReleaseStretch& stretch);

// For each cell of a grid the nearest that is marked, by the middles' distance; -1: none is.
// Exact (Felzenszwalb & Huttenlocher, Theory Comput. 8 (2012) 415). O(cells)
std::vector<std::int32_t> nearest_marked(const std::vector<bool>& marked, int count_x, int count_y);

}  // namespace cavigram::detail
