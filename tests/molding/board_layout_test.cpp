// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/board_layout.h"

#include <random>

#include "support/near.h"

using namespace cavigram;

namespace {

// What makes a layout one that can be cut: each piece on its sheet, no two nearer than the saw's
// cut, every piece there, and strips through the whole length.
void check_layout(const std::vector<Board>& boards, const BoardLayout& layout) {
    std::vector<int> count(boards.size(), 0);
    const double slack = 1e-6;
    for (const PlacedBoard& p : layout.placed) {
        ++count[p.board];
        const Board& board = boards[p.board];
        CHECK(std::max(p.along_mm, p.across_mm) == board.length_mm);
        CHECK(std::min(p.along_mm, p.across_mm) == board.width_mm);
        CHECK(p.sheet < layout.sheets);
        CHECK(p.x_mm + p.along_mm <= layout.stock.length_mm + slack);
        CHECK(p.y_mm + p.across_mm <= layout.stock.width_mm + slack);
        for (const PlacedBoard& q : layout.placed) {
            if (&p == &q || p.sheet != q.sheet) {
                continue;
            }
            const double saw = layout.stock.saw_mm - slack;
            const bool apart =
                p.x_mm + p.along_mm + saw <= q.x_mm || q.x_mm + q.along_mm + saw <= p.x_mm ||
                p.y_mm + p.across_mm + saw <= q.y_mm || q.y_mm + q.across_mm + saw <= p.y_mm;
            CHECK(apart);
        }
    }
    for (std::size_t i = 0; i < boards.size(); ++i) {
        const bool fits = (boards[i].length_mm <= layout.stock.length_mm &&
                           boards[i].width_mm <= layout.stock.width_mm) ||
                          (boards[i].width_mm <= layout.stock.length_mm &&
                           boards[i].length_mm <= layout.stock.width_mm);
        CHECK(count[i] == (fits ? boards[i].count : 0));
    }
}

}  // namespace

TEST_CASE("a mold box on one small sheet, by hand") {
    const MoldBox box = mold_box({200.0, 120.0, 80.0});
    // Walls 244 x 110 and 140 x 110, floor 244 x 164, plates 220 x 140. Strips of 164 (floor), 140
    // (both plates) and 110 (all walls, 2 x 244 + 2 x 140 + 3 cuts = 777): 420 of 600 mm with cuts.
    const BoardLayout layout = board_layout(box.boards);
    check_layout(box.boards, layout);
    CHECK(layout.sheets == 1);
    CHECK(layout.findings.empty());
    CHECK_NEAR(layout.used_share,
               (2 * 244.0 * 110 + 2 * 140.0 * 110 + 244.0 * 164 + 2 * 220.0 * 140) / 720000.0,
               1e-12);
}

TEST_CASE("saw cuts count: two halves of a sheet don't fit on one") {
    const std::vector<Board> halves = {{600.0, 300.0, 2, "halves"}};
    CHECK(board_layout(halves, {600.0, 600.0, 0.0}).sheets == 1);
    CHECK(board_layout(halves, {600.0, 600.0, 3.0}).sheets == 2);
    // A piece as large as the sheet fits it.
    CHECK(board_layout({{600.0, 600.0, 1, "all"}}, {600.0, 600.0, 3.0}).sheets == 1);
}

TEST_CASE("a piece larger than the stock is told and left out; one that fits turned is turned") {
    const std::vector<Board> boards = {{700.0, 610.0, 1, "floor"}, {650.0, 100.0, 1, "wall"}};
    const BoardLayout layout = board_layout(boards, {500.0, 660.0, 3.0});
    check_layout(boards, layout);
    REQUIRE(layout.findings.size() == 1);
    CHECK(layout.findings.front().code == FindingCode("board_larger_than_stock"));
    REQUIRE(layout.placed.size() == 1);
    CHECK(layout.placed.front().along_mm == 100.0);
}

TEST_CASE("any list can be cut, and takes no more than twice the sheets its area needs, and one") {
    std::mt19937 random(20);
    std::uniform_real_distribution<double> length(20.0, 1190.0);
    std::uniform_real_distribution<double> width(20.0, 590.0);
    for (int round = 0; round < 200; ++round) {
        std::vector<Board> boards;
        for (int i = 0; i < 5; ++i) {
            const double one = length(random);
            const double other = width(random);
            boards.push_back({std::max(one, other), std::min(one, other), 1 + i % 3, "piece"});
        }
        const BoardLayout layout = board_layout(boards);
        check_layout(boards, layout);
        double area = 0.0;
        for (const Board& board : boards) {
            area += board.count * (board.length_mm + 3.0) * (board.width_mm + 3.0);
        }
        // Strips by first fit fill at least half of what they take but for the last ones.
        CHECK(static_cast<double>(layout.sheets) <= 2.0 * 1.7 * area / (1203.0 * 603.0) + 2.0);
    }
}
