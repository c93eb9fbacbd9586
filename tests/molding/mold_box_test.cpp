// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/mold_box.h"

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

TEST_CASE("a box around the box of G-1, by hand") {
    // Part 100 x 60 x 40; 10 mm of rubber at the sides, 12 below, 8 above; boards of 15 mm.
    MoldBoxRequest request{100.0, 60.0, 40.0, 10.0, 12.0, 8.0, 15.0, {}};
    const MoldBox box = mold_box(request);
    CHECK(box.block_length_mm == 120.0);
    CHECK(box.block_width_mm == 80.0);
    CHECK(box.block_height_mm == 60.0);
    CHECK(box.block_mm3 == 576000.0);
    CHECK(box.lower_half_mm == 32.0);
    CHECK(box.upper_half_mm == 28.0);
    // Walls are 60 high and 10 of rim; the long ones overlap the short ones' ends by 15 each.
    REQUIRE(box.boards.size() == 4);
    CHECK(box.boards[0].length_mm == 150.0);
    CHECK(box.boards[0].width_mm == 70.0);
    CHECK(box.boards[0].count == 2);
    CHECK(box.boards[1].length_mm == 80.0);
    CHECK(box.boards[1].width_mm == 70.0);
    CHECK(box.boards[2].length_mm == 150.0);
    CHECK(box.boards[2].width_mm == 110.0);
    CHECK(box.boards[2].count == 1);
    CHECK(box.boards[3].length_mm == 120.0);
    CHECK(box.boards[3].width_mm == 80.0);
    // Stood up, the four walls enclose the block's footprint: outer less the boards.
    CHECK(box.boards[0].length_mm - 2.0 * 15.0 == box.block_length_mm);
    CHECK(box.boards[1].length_mm == box.block_width_mm);
}

TEST_CASE("a parting off the middle, and one off the part") {
    MoldBoxRequest request{100.0, 60.0, 40.0};
    request.parting_mm = 30.0;
    const MoldBox box = mold_box(request);
    CHECK(box.lower_half_mm == 40.0);
    CHECK(box.upper_half_mm == 20.0);
    CHECK(box.lower_half_mm + box.upper_half_mm == box.block_height_mm);
    request.parting_mm = 40.0;
    CHECK(refusal_of([&] { static_cast<void>(mold_box(request)); }).find("can't be parted at 40") !=
          std::string::npos);
}

TEST_CASE("boards are told longer side first, however tall the box is") {
    const MoldBox tall = mold_box({30.0, 20.0, 400.0});
    for (const Board& board : tall.boards) {
        CHECK(board.length_mm >= board.width_mm);
    }
    CHECK(tall.boards[0].length_mm == 430.0);
}
