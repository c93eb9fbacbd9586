// SPDX-License-Identifier: GPL-3.0-or-later
// Which foam, what goes into the cup, and the room.
#include <filesystem>
#include <optional>
#include <string>

#include "cavigram/foam/batch.h"
#include "cavigram/foam/card.h"
#include "cavigram/foam/pressure.h"

#include "option_table.h"

namespace cavigram::program {

namespace {

constexpr CommandSet kRestsOnFoam = kSkin | kVent;

// A share of the pour, or what stayed of a cup: `3.5g@40g`.
void read_waste(Options& o, const std::string& text, const std::string& name) {
    const std::size_t at = text.find('@');
    if (at == std::string::npos) {
        o.plan.foam.waste_share = parse_quantity(text, Kind::share, name, 0.0, 0.9);
        return;
    }
    const double stays = parse_quantity(text.substr(0, at), Kind::mass, "What --waste says stays",
                                        0.0, kPour_g.most);
    const double of = parse_quantity(text.substr(at + 1), Kind::mass, "The cup that --waste names",
                                     kPour_g.least, kPour_g.most);
    o.plan.foam.waste_film = WasteFilm{stays, of};
}

void read_altitude(Options& o, const std::string& text, const std::string& name) {
    o.plan.foam.air_kpa = air_pressure_kpa(parse_quantity(text, Kind::length, name) / 1000.0);
}

// `other.stl`, or `other.stl@in` with a unit of its own.
void read_also(Options& o, const std::string& text, const std::string&) {
    const std::size_t at = text.rfind('@');
    AlsoPart part{text, std::nullopt};
    if (at != std::string::npos && !std::filesystem::exists(text)) {  // a name may hold an @ too
        part = {text.substr(0, at), parse_length_unit(text.substr(at + 1))};
    }
    o.plan.foam.also.push_back(part);
}

// What the scale shows is told in the unit that its step was given in.
void read_scale(Options& o, const std::string& text, const std::string& name) {
    FoamOptions& foam = o.plan.foam;
    foam.scale_readability_g =
        parse_quantity(text, Kind::mass, name, kScaleStep_g.least, kScaleStep_g.most);
    const std::size_t unit = text.find_last_of("0123456789. ") + 1;
    foam.scale_in_ounces = text.compare(unit, 1, "o") == 0 || text.compare(unit, 1, "O") == 0;
}

OptionValue foam_card() {
    OptionValue card = text("a card's name or a TOML file", foam(&FoamOptions::card));
    card.beside_job = BesideJob::if_toml;
    return card;
}

std::vector<OptionRow> which_foam() {
    const Group g = Group::foam;
    return {
        {"foam", g, kRestsOnFoam | kTallyWrites | kTallyFit, "generic-soft",
         "Foam card: a name or a TOML file (tally fit: only castings of it)", foam_card()},
        {"mix", g, kRestsOnFoam | kTallyWrites | kTallyFit, "50:100",
         "Fixes the mix, parts of A and B by weight (tally fit: only castings of it)",
         parsed("two numbers", parse_mix_ratio, foam(&FoamOptions::mix)), "30:100"},
        {"density", g, kRestsOnFoam, "9lb/ft3", "Wanted density, which also chooses the mix",
         quantity(Kind::density, kFoam_kg_m3, foam(&FoamOptions::density_kg_m3))},
        {"basis", g, kRestsOnFoam, "core",
         "What --density means: molded (the finished part's mean; default), core, free_rise",
         parsed("a word", parse_basis, foam(&FoamOptions::basis), {"molded", "core", "free_rise"})},
        {"overpack", g, kRestsOnFoam, "1.15",
         "How full the mold is packed: the part's mean over free-rise density",
         quantity(Kind::share, 1.0, 20.0, foam(&FoamOptions::overpack)), "1.3"},
        {"skin-thickness", g, kSkin, "1.5mm", "Skin as measured (default: what the packing makes)",
         quantity(Kind::length, 0.0, kPartSize_mm.most, foam(&FoamOptions::skin_thickness_mm))},
        {"skin-density", g, kSkin, "400kg/m3", "Density of the skin",
         quantity(Kind::density, kFoam_kg_m3, foam(&FoamOptions::skin_density_kg_m3)), "450kg/m3"},
        {"profile", g, kSkin, "exponential", "How the skin fades: step or exponential",
         parsed("a word", parse_profile, foam(&FoamOptions::profile), {"step", "exponential"})},
        {"cell", g, kSkin, "0.5mm", "Smallest cell for the skin's volume; finer is slower",
         quantity(Kind::length, kLength_mm, foam(&FoamOptions::cell_mm))},
        {"from-tally", g, kSkin, "", "Density, skin and waste from this shop's own castings",
         flag(into(&Options::from_tally))},
        {"db", g, kSkin | kTally, "shop.db",
         "File of the casting log, for --from-tally and tally (default: your own)",
         text("a file", into(&Options::db))},
    };
}

std::vector<OptionRow> cup() {
    const Group g = Group::cup;
    return {
        {"scale-readability",
         g,
         kGrams,
         "0.1g",
         "Smallest step of your scale (default: 1g); 0.05oz: it shows ounces",
         {.kind = range_words(Kind::mass, kScaleStep_g.least, kScaleStep_g.most),
          .read = read_scale}},
        {"copies", g, kGrams, "6", "How many parts to pour",
         whole_number(static_cast<int>(kCopies.least), static_cast<int>(kCopies.most),
                      "a whole number from 1 to 1000, such as 6", foam(&FoamOptions::copies))},
        {"also",
         g,
         kGrams,
         "other.stl",
         "Another part poured from the same cup; file@in: in its own unit",
         {.kind = "a file", .read = read_also, .list = true, .beside_job = BesideJob::yes}},
        {"largest-batch", g, kGrams, "400g", "The most you can stir and pour in time",
         quantity(Kind::mass, kPour_g, foam(&FoamOptions::largest_batch_g)), "20g"},
        {"waste",
         g,
         kGrams,
         "3.5g@40g",
         "What stays in the cup: as seen in one, or a share, 10%",
         {.kind = "a share from 0 to 0.9, or two masses", .read = read_waste}},
        {"cup-residue", g, kGrams, "0.5g", "What stays in A's own cup, weighed in addition",
         quantity(Kind::mass, 0.0, kPour_g.most, foam(&FoamOptions::cup_residue_g))},
        {"weighing", g, kGrams, "direct", "tared (the cup set to zero first; default) or direct",
         parsed("a word", parse_weighing, foam(&FoamOptions::weighing), {"tared", "direct"})},
        {"pigment", g, kGrams, "3%", "Share of part B",
         quantity(Kind::share, 0.0, 0.5, foam(&FoamOptions::pigment_share))},
        {"spare", g, kGrams, "5g", "Poured beyond what is needed",
         quantity(Kind::mass, 0.0, kPour_g.most, foam(&FoamOptions::spare_g))},
        {"finish", g, kGrams, "0.1oz/ft2", "Pigment dusted on, or paint, by area",
         quantity(Kind::areal_density, kFinishRate_g_m2, foam(&FoamOptions::finish_g_m2))},
    };
}

std::vector<OptionRow> room() {
    const Group g = Group::room;
    return {
        {"temperature",
         g,
         kGrams | kVent | kTallyWrites,
         "18C",
         "Today's temperature of room and liquids",
         {.kind = range_words(Kind::temperature, kRoom_c.least, kRoom_c.most),
          .read =
              [](Options& o, const std::string& t, const std::string& name) {
                  o.casting.temperature_c = o.plan.bench.temperature_c =
                      parse_quantity(t, Kind::temperature, name, kRoom_c.least, kRoom_c.most);
              }}},
        {"mold-temperature", g, kBench | kRise | kPlan | kMold, "15C",
         "The mold's temperature, if it is not that of the liquids",
         quantity(Kind::temperature, kMold_c, bench(&BenchOptions::mold_temperature_c))},
        {"altitude",
         g,
         kRestsOnFoam,
         "1600m",
         "Of your room; foam rises more up there",
         {.kind = "a length", .read = read_altitude}},
        {"air-pressure", g, kRestsOnFoam, "84kPa", "Instead of an altitude",
         quantity(Kind::pressure, kAir_kpa, foam(&FoamOptions::air_kpa))},
    };
}

}  // namespace

std::vector<OptionRow> foam_options() {
    std::vector<OptionRow> rows = which_foam();
    for (const auto& some : {cup(), room()}) {
        rows.insert(rows.end(), some.begin(), some.end());
    }
    return rows;
}

}  // namespace cavigram::program
