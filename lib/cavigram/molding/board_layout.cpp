// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/board_layout.h"

#include <algorithm>

#include <fmt/core.h>

#include "cavigram/core/told.h"

namespace cavigram {

namespace {

// A strip through a sheet.
struct Strip {
    std::size_t sheet = 0;
    double y_mm = 0.0;
    double across_mm = 0.0;
    double used_mm = 0.0;  // of its length, saw cuts with it
};

// Rounding of sums of sizes must not push a piece off a sheet that it fits.
constexpr double kRounding_mm = 1e-6;

bool fits(double along, double across, const Stock& stock) {
    return along <= stock.length_mm + kRounding_mm && across <= stock.width_mm + kRounding_mm;
}

Finding too_large(const Board& board, const Stock& stock) {
    return {
        Severity::warning,
        "board_larger_than_stock",
        fmt::format("A board of {} x {} ({}) is larger than the stock of {} x {}; give a larger "
                    "one ({}), join two, or build another kind of mold ({} jacketed).",
                    told_end(board.length_mm, Kind::length, 4),
                    told_own(board.width_mm, Kind::length, 4), board.use,
                    told_end(stock.length_mm, Kind::length, 4),
                    told_own(stock.width_mm, Kind::length, 4), setting("stock"), setting("kind")),
        {}};
}

class Sheets {
  public:
    explicit Sheets(const Stock& stock) : stock_(stock) {}

    PlacedBoard place(std::size_t board, double along, double across) {
        Strip& strip = strip_for(along, across);
        PlacedBoard placed{board, strip.sheet, strip.used_mm, strip.y_mm, along, across};
        strip.used_mm += along + stock_.saw_mm;
        return placed;
    }

    [[nodiscard]] std::size_t count() const { return used_across_.size(); }

  private:
    Strip& strip_for(double along, double across) {
        for (Strip& strip : strips_) {
            if (across <= strip.across_mm + kRounding_mm &&
                strip.used_mm + along <= stock_.length_mm + kRounding_mm) {
                return strip;
            }
        }
        std::size_t sheet = 0;
        while (sheet < used_across_.size() &&
               used_across_[sheet] + across > stock_.width_mm + kRounding_mm) {
            ++sheet;
        }
        if (sheet == used_across_.size()) {
            used_across_.push_back(0.0);
        }
        strips_.push_back({sheet, used_across_[sheet], across, 0.0});
        used_across_[sheet] += across + stock_.saw_mm;
        return strips_.back();
    }

    Stock stock_;
    std::vector<Strip> strips_;
    std::vector<double> used_across_;  // of each sheet
};

}  // namespace

BoardLayout board_layout(const std::vector<Board>& boards, const Stock& stock) {
    BoardLayout layout;
    layout.stock = stock;
    struct Piece {
        std::size_t board;
        double along;
        double across;
    };
    std::vector<Piece> pieces;
    for (std::size_t i = 0; i < boards.size(); ++i) {
        const Board& board = boards[i];
        const bool flat = fits(board.length_mm, board.width_mm, stock);
        if (!flat && !fits(board.width_mm, board.length_mm, stock)) {
            layout.findings.push_back(too_large(board, stock));
            continue;
        }
        const Piece piece = flat ? Piece{i, board.length_mm, board.width_mm}
                                 : Piece{i, board.width_mm, board.length_mm};
        pieces.insert(pieces.end(), static_cast<std::size_t>(board.count), piece);
    }
    std::stable_sort(pieces.begin(), pieces.end(), [](const Piece& a, const Piece& b) {
        return a.across != b.across ? a.across > b.across : a.along > b.along;
    });
    Sheets sheets(stock);
    double used_mm2 = 0.0;
    for (const Piece& piece : pieces) {
        layout.placed.push_back(sheets.place(piece.board, piece.along, piece.across));
        used_mm2 += piece.along * piece.across;
    }
    layout.sheets = sheets.count();
    if (layout.sheets > 0) {
        layout.used_share =
            used_mm2 / (static_cast<double>(layout.sheets) * stock.length_mm * stock.width_mm);
    }
    return layout;
}

}  // namespace cavigram
