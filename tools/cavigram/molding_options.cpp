// SPDX-License-Identifier: GPL-3.0-or-later
// What is built around the part: rubber, jacket, box, straps.
#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/molding/jacket.h"
#include "cavigram/molding/rubber.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

constexpr CommandSet kAround = kMold | kPlan;
// A film of rubber, and a wall as thick as a brick.
constexpr Limits kThickness_mm{0.5, 200.0};
constexpr Limits kStock_mm{50.0, 10'000.0};
// A thread's breaking load, and a truck's strap.
constexpr Limits kStrap_g{1e3, 5e6};
constexpr double kNewtonsPerGram = 1e-3 * kGravity_m_s2;

// `1200mm,600mm`.
Vec2 parse_stock(const std::string& text, const std::string& name) {
    const std::size_t comma = text.find(',');
    if (comma == std::string::npos) {
        throw InvalidInput(fmt::format(
            "{} is \"{}\"; give a sheet's two sides, such as 1200mm,600mm or 48in,24in.", name,
            text));
    }
    const auto side = [&](const std::string& part) {
        return parse_quantity(part, Kind::length, name, kStock_mm.least, kStock_mm.most);
    };
    return {side(text.substr(0, comma)), side(text.substr(comma + 1))};
}

OptionValue rubber_card() {
    OptionValue card = text("a card's name or a TOML file", mold(&MoldOptions::rubber_card));
    card.beside_job = BesideJob::if_toml;
    return card;
}

}  // namespace

std::vector<OptionRow> molding_options() {
    const Group g = Group::around;
    return {
        {"kind", g, kAround, "brushed",
         "How the mold is built: box (rubber poured in a box; default), brushed or jacketed "
         "(rubber "
         "brushed on or poured under a jacket)",
         parsed("a word", parse_mold_kind, mold(&MoldOptions::kind),
                {"box", "brushed", "jacketed"})},
        {"rubber", g, kAround, "10mm", "Rubber around the part, at least (default: 10mm)",
         quantity(Kind::length, kThickness_mm, mold(&MoldOptions::rubber_mm)), "12mm"},
        {"rubber-card", g, kAround, "generic-silicone-firm",
         "Rubber card: a name or a TOML file (\"cavigram foams show generic-silicone-soft\" prints "
         "one)",
         rubber_card()},
        {"rubber-waste", g, kAround, "8%", "What is lost of the rubber that is stirred",
         quantity(Kind::share, 0.0, 0.9, mold(&MoldOptions::rubber_waste_share))},
        {"jacket", g, kAround, "15mm",
         "Thickness of the jacket (default: 20mm of plaster, 5mm of resin)",
         quantity(Kind::length, kThickness_mm, mold(&MoldOptions::jacket_mm))},
        {"jacket-of", g, kAround, "resin", "plaster (default) or resin, with fibers",
         parsed("a word", parse_jacket_material, mold(&MoldOptions::jacket_of),
                {"plaster", "resin"})},
        {"plaster-water", g, kAround, "0.7", "Water to a gram of plaster, by weight",
         quantity(Kind::share, kLeastWater, kMostWater, mold(&MoldOptions::water_per_plaster)),
         "0.6"},
        {"parting", g, kAround, "40mm",
         "Height at which the mold is parted, from the part's lowest place (default: half)",
         quantity(Kind::length, kLength_mm, mold(&MoldOptions::parting_mm)), "12mm"},
        {"board", g, kAround, "15mm", "Thickness of the box's boards",
         quantity(Kind::length, kThickness_mm, mold(&MoldOptions::board_mm))},
        {"stock", g, kAround, "1200mm,600mm", "A sheet that the boards are cut from",
         parsed("two lengths", parse_stock, mold(&MoldOptions::stock_mm)), "800mm,500mm"},
        {"master-weight", g, kAround, "150g", "What you mold weighs, for how it floats",
         quantity(Kind::mass, kPour_g.least, 1e6, mold(&MoldOptions::master_g))},
        {"straps", g, kAround, "4", "How many straps there are (default: as many as it takes)",
         whole_number(0, 1000, "0 to 1000", mold(&MoldOptions::straps))},
        {"strap-holds", g, kAround, "50kg", "What one leg of a strap holds before it slips",
         quantity(Kind::mass, kStrap_g, mold(&MoldOptions::strap_holds_n), kNewtonsPerGram),
         "20kg"},
        {"foam-shrink", g, kAround, "1%", "What a casting shrinks by, of its length",
         quantity(Kind::share, 0.0, 0.2, mold(&MoldOptions::foam_shrink_share))},
    };
}

}  // namespace cavigram::program
