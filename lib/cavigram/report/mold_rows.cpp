// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/text.h"
#include "cavigram/report/mold_rows_detail.h"

namespace cavigram {

namespace {

std::string grams(double g) {
    return told_own(g, Kind::mass, 3);
}

// A force as what would weigh as much.
std::string as_weight(double force_n) {
    return told(1000.0 * force_n / kGravity_m_s2, Kind::mass, 2);
}

// "120 x 80 mm", both by the same rounding. Boards are cut to a tenth of a millimeter at best.
std::string size_text(double length_mm, double width_mm, int digits, bool both_systems) {
    const auto sides = [&](Telling first, Telling last) {
        return told(length_mm, Kind::length, digits, first) + " x " +
               told(width_mm, Kind::length, digits, last);
    };
    return sides(Telling::number, Telling::single) +
           (both_systems ? " (" + sides(Telling::other_number, Telling::other_single) + ")" : "");
}

const char* kind_words(MoldKind kind) {
    switch (kind) {
        case MoldKind::box:
            return "rubber poured as a block in a box";
        case MoldKind::brushed:
            return "rubber brushed on, under a jacket";
        case MoldKind::jacketed:
            return "rubber poured under a jacket";
    }
    return "";
}

void build_row(Page& page, const MoldBlock& mold) {
    std::string text = std::string(kind_words(mold.request.kind)) + ", " +
                       told_own(mold.rubber_mm, Kind::length, 3) + " around the part";
    if (mold.jacket_mm > 0.0) {
        text += ", jacket " + told_own(mold.jacket_mm, Kind::length, 3);
    }
    page.row("Mold", text);
    page.more("two halves, parted across " + up_text(mold.pull.x(), mold.pull.y(), mold.pull.z()) +
              ": lower " + told_own(mold.lower_half_mm, Kind::length, 3) + " high, upper " +
              told_own(mold.upper_half_mm, Kind::length, 3));
}

void rubber_rows(Page& page, const MoldBlock& mold) {
    const Rubber& rubber = mold.rubber;
    const MixRatio& mix = mold.card.mix;
    page.row("Rubber", mass_text(rubber.gross_g) + ": A " + grams(rubber.part_a_g) + ", B " +
                           grams(rubber.part_b_g) +
                           fmt::format(" ({}, {:g}:{:g} by weight)", mold.card.name, mix.a, mix.b));
    std::string text =
        grams(rubber.net_g) + " stays in the mold, " + grams(rubber.waste_g) + " is lost";
    if (rubber.coats > 0) {
        text =
            fmt::format("{} coats of about {} each; ", rubber.coats, grams(rubber.coat_g)) + text;
    }
    if (mold.lower_half_g) {
        text = "lower half " + grams(*mold.lower_half_g) + ", upper half " +
               grams(rubber.gross_g - *mold.lower_half_g) + "; " + text;
    }
    page.more(text);
    if (rubber.request.error_mm3 > 0.0) {
        page.detail(
            "", "to about " +
                    significant(100.0 * rubber.request.error_mm3 / rubber.request.around_mm3, 1) +
                    " %");
    }
}

void jacket_row(Page& page, const Jacket& jacket) {
    if (jacket.resin_g > 0.0) {
        page.row("Jacket", mass_text(jacket.resin_g) +
                               " of resin and fibers, a tenth of it lost; " + grams(jacket.dry_g) +
                               " on the mold");
    } else {
        page.row("Jacket", mass_text(jacket.powder_g) + " of plaster into " +
                               mass_text(jacket.water_g) + " of water; " +
                               grams(jacket.heaviest_g) + " on the mold when fresh, " +
                               grams(jacket.dry_g) + " dry");
    }
    page.detail("", "without flanges, feet and handles");
}

void board_rows(Page& page, const MoldBlock& mold, bool is_short) {
    const MoldBox& box = *mold.box;
    const BoardLayout& layout = *mold.layout;
    std::string from = "from the stock";
    if (layout.sheets > 0) {
        from = fmt::format("from {} sheet{} of ", layout.sheets, layout.sheets == 1 ? "" : "s") +
               size_text(layout.stock.length_mm, layout.stock.width_mm, 3, false);
    }
    page.row("Box", "inside " + size_text(box.block_length_mm, box.block_width_mm, 4, false) +
                        ", boards of " + told_own(box.request.board_mm, Kind::length, 3) + " " +
                        from + (is_short ? "" : ":"));
    for (const Board& board : box.boards) {
        page.add("",
                 fmt::format("{} x  {}  {}", board.count,
                             size_text(board.length_mm, board.width_mm, 4, true), board.use),
                 is_short);
    }
}

void hole_row(Page& page, const MoldBlock& mold) {
    std::string text;
    double longest = 0.0;
    int vents = 0;
    for (std::size_t i = 0; i < mold.holes.size(); ++i) {
        const double length = mold.channels[i].length_mm;
        if (mold.holes[i].pour_hole) {
            text += (text.empty() ? "" : ", ") + std::string("pour hole ") +
                    told_own(length, Kind::length, 3);
        } else {
            longest = std::max(longest, length);
            ++vents;
        }
    }
    if (vents > 0) {
        text += (text.empty() ? "" : ", ") +
                fmt::format("{} vent{} up to ", vents, vents == 1 ? "" : "s") +
                told_own(longest, Kind::length, 3);
    }
    if (!text.empty()) {
        page.row("Holes", text + " long, through all of it (--mold-wall)");
    }
}

void strap_rows(Page& page, const MoldBlock& mold) {
    const Straps& s = mold.straps;
    const bool presses = s.request.strap_for_kpa > 0.0;
    if (presses) {
        page.row("Opens", "with " + as_weight(s.opening_force_n) + " of force: " +
                              told_own(s.request.pressure_kpa, Kind::pressure, 2) + " on " +
                              told_own(mold.projected_area_mm2, Kind::area, 3) + "; planned for " +
                              told_own(s.request.strap_for_kpa, Kind::pressure, 2));
    }
    if (s.straps == 0) {
        page.row("Straps", "none");
        return;
    }
    // Straps that need to hold nothing would be taken at their word.
    if (!presses) {
        page.row("Straps", fmt::format("{} around it, ", s.straps) +
                               told_own(s.pitch_mm, Kind::length, 2) +
                               " apart; what they must hold is told for a pour that presses");
        return;
    }
    page.row("Straps", fmt::format("{} around it, ", s.straps) +
                           told_own(s.pitch_mm, Kind::length, 2) + " apart; each leg must hold " +
                           as_weight(s.leg_needed_n) + ", three times its load");
    page.more((mold.request.strap_holds_n
                   ? "with legs that hold " + as_weight(s.leg_holds_n) + " the mold holds "
                   : std::string("so strapped, the mold holds ")) +
              told(s.holds_kpa, Kind::pressure, 2) +
              (mold.holds_by_straps ? "" : "; the window rests on --mold-holds"));
}

void weight_rows(Page& page, const MoldBlock& mold, bool is_short) {
    page.row("Lift", mass_text(mold.weight_g) + ", closed, with the casting in it");
    if (mold.master_lift_n > 0.0) {
        page.add("Master",
                 std::string(mold.request.master_g ? "" : "up to ") +
                     as_weight(mold.master_lift_n) + " lift it in the rubber: fix it down" +
                     (mold.request.master_g ? "" : " (--master-weight)"),
                 is_short);
    }
    const double low = 100.0 * mold.shrink_low_share;
    const double high = 100.0 * mold.shrink_high_share;
    if (high > 0.0) {
        page.detail("Shrinks",
                    fmt::format("copies come out {} to {} % smaller{}", significant(low, 2),
                                significant(high, 2),
                                mold.request.foam_shrink_share ? "" : ", the foam's own left out"));
    }
    std::string warm = "rubber takes about " + significant(mold.heat_soak_s / 60.0, 1) +
                       " min to warm through, and holds it while the foam rises";
    if (mold.contact_c) {
        warm += "; mold and mix meet at " + told(*mold.contact_c, Kind::temperature, 3);
    }
    page.detail("Warmth", warm);
}

// The box and the shell; brushed and poured shells take the same.
void other_kinds(Page& page, const MoldBlock& mold, bool is_short) {
    const bool is_box = mold.request.kind == MoldKind::box;
    const KindAmounts& other = mold.kinds[is_box ? 1 : 0];
    std::string text = is_box ? "brushed or jacketed: " : "box: ";
    text += grams(other.rubber_g) + " of rubber";
    if (other.jacket_g > 0.0) {
        text += " and " + grams(other.jacket_g) + " of jacket";
    }
    page.add("Or", text + " (--kind)", is_short);
}

}  // namespace

void mold_rows(Page& page, const MoldBlock& mold, bool is_short) {
    build_row(page, mold);
    rubber_rows(page, mold);
    if (mold.jacket) {
        jacket_row(page, *mold.jacket);
    }
    if (mold.box) {
        board_rows(page, mold, is_short);
    }
    hole_row(page, mold);
    strap_rows(page, mold);
    weight_rows(page, mold, is_short);
    other_kinds(page, mold, is_short);
}

}  // namespace cavigram
