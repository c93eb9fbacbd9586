// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"
#include "cavigram/report/fields/blocks_detail.h"

namespace cavigram::detail {

namespace {

const std::vector<std::string>& kind_words() {
    static const std::vector<std::string> words = {"box", "brushed", "jacketed"};
    return words;
}

const Block<Board>& board_block() {
    static const Block<Board> block = Block<Board>("Board", "Pieces of board of one size.")
                                          .field("length_mm", &Board::length_mm, "longer side")
                                          .field("width_mm", &Board::width_mm, "shorter side")
                                          .field("count", &Board::count, "how many")
                                          .field("use", &Board::use, "in words");
    return block;
}

const Block<PlacedBoard>& placed_block() {
    static const Block<PlacedBoard> block =
        Block<PlacedBoard>("PlacedBoard", "Where a piece is cut from.")
            .field("board", &PlacedBoard::board, "its place in the list of boards, from 0")
            .field("sheet", &PlacedBoard::sheet, "which sheet, from 0")
            .field("x_mm", &PlacedBoard::x_mm, "of its corner, along the sheet")
            .field("y_mm", &PlacedBoard::y_mm, "of its corner, across")
            .field("along_mm", &PlacedBoard::along_mm, "its side along the sheet")
            .field("across_mm", &PlacedBoard::across_mm, "its other side");
    return block;
}

const Block<KindAmounts>& kind_block() {
    static const Block<KindAmounts> block =
        Block<KindAmounts>("MoldKind", "What one kind of mold would take, as thick.")
            .choice(
                "kind", kind_words(), [](const KindAmounts& k) { return to_text(k.kind); }, "which")
            .field("rubber_g", &KindAmounts::rubber_g, "to mix")
            .field("jacket_g", &KindAmounts::jacket_g, "to mix; 0: none")
            .field("weight_g", &KindAmounts::weight_g, "of the closed mold, jacket fresh");
    return block;
}

struct ToldHole {
    const MoldHole& hole;
    double length_mm = 0.0;
};

const Block<ToldHole>& hole_block() {
    static const Block<ToldHole> block =
        Block<ToldHole>("MoldHole", "A hole from the cavity to the outside, along the way up.")
            .choice(
                "kind", {"pour_hole", "vent"},
                [](const ToldHole& h) { return h.hole.pour_hole ? "pour_hole" : "vent"; }, "which")
            .field(
                "at_mm", [](const ToldHole& h) { return h.hole.at_mm; }, "its place on the part")
            .field(
                "width_mm", [](const ToldHole& h) { return h.hole.width_mm; }, "its diameter")
            .field("length_mm", &ToldHole::length_mm, "through rubber and jacket");
    return block;
}

std::vector<ToldHole> told_holes(const MoldBlock& mold) {
    std::vector<ToldHole> told;
    for (std::size_t i = 0; i < mold.holes.size(); ++i) {
        told.push_back({mold.holes[i], mold.channels[i].length_mm});
    }
    return told;
}

template <class T, class V>
auto of_jacket(V T::*member) {
    return [member](const MoldBlock& m) {
        return m.jacket ? std::optional<V>((*m.jacket).*member) : std::nullopt;
    };
}

auto percent(double MoldBlock::*share) {
    return [share](const MoldBlock& m) { return 100.0 * (m.*share); };
}

auto of_rubber(auto Rubber::*member) {
    return [member](const MoldBlock& m) { return m.rubber.*member; };
}

auto of_straps(auto Straps::*member) {
    return [member](const MoldBlock& m) { return m.straps.*member; };
}

template <class T, class V>
auto of_box(V T::*member) {
    return [member](const MoldBlock& m) {
        return m.box ? std::optional<V>((*m.box).*member) : std::nullopt;
    };
}

void rubber_fields(Block<MoldBlock>& block) {
    block
        .choice(
            "kind", kind_words(), [](const MoldBlock& m) { return to_text(m.request.kind); },
            "how it is built")
        .field("pull", &MoldBlock::pull, "along which the halves come apart")
        .field("thickness_mm", &MoldBlock::rubber_mm, "of rubber, at least")
        .field("jacket_thickness_mm", &MoldBlock::jacket_mm, "over it; 0: none")
        .field("lower_half_mm", &MoldBlock::lower_half_mm, "height of the half below the parting")
        .field("upper_half_mm", &MoldBlock::upper_half_mm, "height of the other")
        .field(
            "rubber_card", [](const MoldBlock& m) { return m.card.name; }, "which rubber")
        .field("rubber_mm3", of_rubber(&Rubber::volume_mm3), "in the mold")
        .field(
            "rubber_error_mm3", [](const MoldBlock& m) { return m.rubber.request.error_mm3; },
            "estimated, of that volume")
        .field("rubber_g", of_rubber(&Rubber::gross_g), "to mix")
        .field("rubber_a_g", of_rubber(&Rubber::part_a_g), "of that, base")
        .field("rubber_b_g", of_rubber(&Rubber::part_b_g), "of that, hardener")
        .field("rubber_waste_g", of_rubber(&Rubber::waste_g), "of that, lost")
        .field("rubber_in_mold_g", of_rubber(&Rubber::net_g), "of that, what stays")
        .field("lower_half_rubber_g", &MoldBlock::lower_half_g,
               "of what is mixed, for the half that is poured first; a box mold's")
        .field("coats", of_rubber(&Rubber::coats), "that are brushed on; 0: it is poured")
        .field("coat_g", of_rubber(&Rubber::coat_g), "to mix for each coat")
        .field("shrink_low_percent", percent(&MoldBlock::shrink_low_share),
               "by which a copy is smaller, linear, at least")
        .field("shrink_percent", percent(&MoldBlock::shrink_share), "likely")
        .field("shrink_high_percent", percent(&MoldBlock::shrink_high_share), "at most")
        .field("heat_soak_s", &MoldBlock::heat_soak_s, "until the rubber is warm throughout, about")
        .field("contact_c", &MoldBlock::contact_c,
               "where a mold of another temperature and the mix meet")
        .field("master_lift_n", &MoldBlock::master_lift_n,
               "with which the master floats in rubber that covers it; below 0: it stays down");
}

void build_fields(Block<MoldBlock>& block) {
    block
        .field(
            "jacket_mm3",
            [](const MoldBlock& m) {
                return m.jacket ? std::optional(m.jacket->request.volume_mm3) : std::nullopt;
            },
            "of the jacket, without flanges")
        .field("jacket_g", of_jacket(&Jacket::heaviest_g), "of the jacket when fresh")
        .field("jacket_dry_g", of_jacket(&Jacket::dry_g), "of the jacket once dry")
        .field("plaster_g", of_jacket(&Jacket::powder_g), "powder to mix; 0: none")
        .field("water_g", of_jacket(&Jacket::water_g), "to the powder")
        .field("resin_g", of_jacket(&Jacket::resin_g), "resin and fibers to buy; 0: none")
        .field("block_length_mm", of_box(&MoldBox::block_length_mm), "of the rubber in its box")
        .field("block_width_mm", of_box(&MoldBox::block_width_mm), "its other side")
        .field("block_height_mm", of_box(&MoldBox::block_height_mm), "of both halves")
        .field(
            "board_mm",
            [](const MoldBlock& m) {
                return m.box ? std::optional(m.box->request.board_mm) : std::nullopt;
            },
            "thickness of the boards")
        .list(
            "boards", board_block(),
            [](const MoldBlock& m) { return m.box ? std::optional(m.box->boards) : std::nullopt; },
            "to cut")
        .field(
            "sheets",
            [](const MoldBlock& m) {
                return m.layout ? std::optional(m.layout->sheets) : std::nullopt;
            },
            "of stock")
        .field(
            "sheet_length_mm",
            [](const MoldBlock& m) {
                return m.layout ? std::optional(m.layout->stock.length_mm) : std::nullopt;
            },
            "of a sheet")
        .field(
            "sheet_width_mm",
            [](const MoldBlock& m) {
                return m.layout ? std::optional(m.layout->stock.width_mm) : std::nullopt;
            },
            "its other side")
        .list(
            "cuts", placed_block(),
            [](const MoldBlock& m) {
                return m.layout ? std::optional(m.layout->placed) : std::nullopt;
            },
            "where on the sheets")
        .list("holes", hole_block(), told_holes, "pour hole and vents");
}

void strap_fields(Block<MoldBlock>& block) {
    block
        .field(
            "pressure_kpa", [](const MoldBlock& m) { return m.straps.request.pressure_kpa; },
            "what the planned pour presses with")
        .field("projected_area_mm2", &MoldBlock::projected_area_mm2, "of the cavity along the pull")
        .field("opening_force_n", of_straps(&Straps::opening_force_n), "pressure times that area")
        .field("planned_force_n", of_straps(&Straps::planned_force_n),
               "what straps are planned for")
        .field("straps", of_straps(&Straps::straps), "loops of two legs")
        .field("strap_pitch_mm", of_straps(&Straps::pitch_mm), "from one to the next")
        .field("strap_load_n", of_straps(&Straps::leg_load_n), "on each leg")
        .field("strap_needed_n", of_straps(&Straps::leg_needed_n),
               "what each leg must hold, with its safety")
        .field("holds_kpa", of_straps(&Straps::holds_kpa), "what the mold holds with these straps")
        .field("holds_by_straps", &MoldBlock::holds_by_straps,
               "the window of the pour rests on that")
        .field("weight_g", &MoldBlock::weight_g,
               "of the closed mold: rubber, fresh jacket, casting")
        .list("kinds", kind_block(), &MoldBlock::kinds, "all kinds, as thick");
}

}  // namespace

const Block<MoldBlock>& mold_block() {
    static const Block<MoldBlock> block = [] {
        Block<MoldBlock> all("Mold", "What to build around the part.");
        rubber_fields(all);
        build_fields(all);
        strap_fields(all);
        return all;
    }();
    return block;
}

}  // namespace cavigram::detail
