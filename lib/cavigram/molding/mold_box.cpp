// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/mold_box.h"

#include <utility>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

Board board(double one_mm, double other_mm, int count, const char* use) {
    if (one_mm < other_mm) {
        std::swap(one_mm, other_mm);
    }
    return {one_mm, other_mm, count, use};
}

}  // namespace

MoldBox mold_box(const MoldBoxRequest& r) {
    const double parting = r.parting_mm.value_or(0.5 * r.part_height_mm);
    if (!(parting > 0.0 && parting < r.part_height_mm)) {
        throw InvalidInput(fmt::format(
            "The mold can't be parted at {} above the part's lowest place: the part is {} high.",
            told(parting, Kind::length), told(r.part_height_mm, Kind::length)));
    }
    MoldBox box;
    box.request = r;
    box.block_length_mm = r.part_length_mm + 2.0 * r.wall_mm;
    box.block_width_mm = r.part_width_mm + 2.0 * r.wall_mm;
    box.block_height_mm = r.part_height_mm + r.floor_mm + r.cover_mm;
    box.block_mm3 = box.block_length_mm * box.block_width_mm * box.block_height_mm;
    box.lower_half_mm = r.floor_mm + parting;
    box.upper_half_mm = box.block_height_mm - box.lower_half_mm;
    const double walls_mm = box.block_height_mm + kRim_mm;
    const double outer_length = box.block_length_mm + 2.0 * r.board_mm;
    const double outer_width = box.block_width_mm + 2.0 * r.board_mm;
    box.boards = {board(outer_length, walls_mm, 2, "long walls"),
                  board(box.block_width_mm, walls_mm, 2, "short walls, between the long ones"),
                  board(outer_length, outer_width, 1, "floor"),
                  board(box.block_length_mm, box.block_width_mm, 2, "plates under the straps")};
    return box;
}

}  // namespace cavigram
