// SPDX-License-Identifier: GPL-3.0-or-later
// What was weighed of a casting, and the words of foams.
#include "cavigram/tally/casting.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

void read_number(Options& o, const std::string& text, const std::string& name) {
    constexpr int kMost = 1'000'000'000;
    o.casting.number = parse_whole(text, "The casting's " + name, 1, kMost,
                                   "its number, as \"cavigram tally list\" shows it");
}

}  // namespace

std::vector<OptionRow> tally_options() {
    const Group g = Group::weighed;
    const auto weighed = [](auto m) { return into(&Options::casting, m); };
    const auto grams = [&](auto m) { return quantity(Kind::mass, 0.0, kPour_g.most, weighed(m)); };
    const auto verdict = [](const std::string& word, const std::string& name) {
        static_cast<void>(parse_casting_verdict(word, name));
        return word;
    };
    OptionValue verdicts = parsed("a word", verdict, weighed(&Casting::verdict));
    verdicts.words = {"good", "short", "lost", "flashed"};
    return {
        {"action", Group::part, kFoams, "list", "list, show or check",
         text("a word", into(&Options::action)), "", true},
        {"card", Group::part, kFoams, "generic-firm", "A card's name, or a TOML file",
         text("a card's name or a TOML file", into(&Options::shown_card)), "", true},
        {"number",
         Group::part,
         kTallyCorrect | kTallyRemove,
         "2",
         "The casting's number, as listed",
         {.kind = "a whole number", .read = read_number},
         "",
         true},
        {"cup", g, kTallyWrites, "60g", "A and B poured together", grams(&Casting::cup_mass_g)},
        {"part-mass", g, kTallyWrites, "52.4g", "Out of the mold, trimmed",
         grams(&Casting::part_mass_g)},
        {"flash", g, kTallyWrites, "2g", "Trimmed flash, vents and sprue",
         grams(&Casting::flash_mass_g)},
        {"stayed", g, kTallyWrites, "2g", "The film that stayed in the cups, risen foam taken out",
         grams(&Casting::stayed_mass_g)},
        {"free-rise-mass", g, kTallyWrites, "8g",
         "Leftover that rose freely in a cup, without the cup", grams(&Casting::free_rise_mass_g)},
        {"free-rise-volume", g, kTallyWrites, "62ml", "The volume to which it rose",
         quantity(Kind::volume, 0.0, 1e12, weighed(&Casting::free_rise_volume_ml), 1e-3)},
        {"mold", g, kTallyWrites | kTallyReads, "oak",
         "Which mold (list, fit, export: only castings from it)",
         text("words", weighed(&Casting::mold))},
        {"verdict", g, kTallyWrites, "flashed", "good (default), short, lost or flashed", verdicts},
        {"note", g, kTallyWrites, "humid", "Anything worth knowing next time",
         text("words", weighed(&Casting::note))},
        {"date", g, kTallyWrites, "2025-11-24", "Day of the casting (default: today)",
         text("a date", weighed(&Casting::date))},
        {"yes", g, kTallyWrites, "", "What looks like a slip is none: log it",
         flag(into(&Options::yes))},
        {"history", g, kTallyList, "", "Also what was corrected or removed, and when",
         flag(into(&Options::history))},
    };
}

}  // namespace cavigram::program
