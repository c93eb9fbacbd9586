// SPDX-License-Identifier: GPL-3.0-or-later
#include <ctime>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/core/quantity.h"
#include "cavigram/core/text.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/plan/casting_shape.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/tally/casting_log.h"
#include "cavigram/tally/fit.h"

#include "commands.h"

namespace cavigram::program {

namespace {

// What is typed after `tally add`, word for word.
struct Entry {
    std::string cup;
    std::string part_mass;
    std::string flash;
    std::string stayed;
    std::string free_rise_mass;
    std::string free_rise_volume;
    std::string temperature;
    std::string mold;
    std::string verdict = "good";
    std::string note;
    std::string date;
};

std::string today() {
    const std::time_t now = std::time(nullptr);
    std::tm local{};
    localtime_r(&now, &local);
    char text[16];
    std::strftime(text, sizeof text, "%Y-%m-%d", &local);
    return text;
}

std::optional<double> mass_of(const std::string& text, const char* name) {
    return text.empty() ? std::nullopt
                        : std::optional(parse_quantity(text, Kind::mass, name, 0.0, 1e7));
}

std::filesystem::path log_path(const std::string& given) {
    return given.empty() ? usual_log_path() : std::filesystem::path(given);
}

// What was typed, settled before the part is read.
Casting weighed(const Entry& entry) {
    if (entry.part_mass.empty() && entry.cup.empty() && entry.free_rise_mass.empty()) {
        throw InvalidInput(
            "Nothing was weighed; give --part-mass, and --cup for what was poured, or "
            "--free-rise-mass and --free-rise-volume of a cup that rose freely.");
    }
    static_cast<void>(parse_casting_verdict(entry.verdict, "--verdict"));
    Casting casting;
    casting.date = entry.date.empty() ? today() : entry.date;
    casting.mold = entry.mold;
    casting.verdict = entry.verdict;
    casting.note = entry.note;
    casting.cup_mass_g = mass_of(entry.cup, "--cup");
    casting.part_mass_g = mass_of(entry.part_mass, "--part-mass");
    casting.flash_mass_g = mass_of(entry.flash, "--flash");
    casting.stayed_mass_g = mass_of(entry.stayed, "--stayed");
    casting.free_rise_mass_g = mass_of(entry.free_rise_mass, "--free-rise-mass");
    if (!entry.free_rise_volume.empty()) {
        casting.free_rise_volume_ml = 1e-3 * parse_quantity(entry.free_rise_volume, Kind::volume,
                                                            "--free-rise-volume", 0.0, 1e12);
    }
    if (!entry.temperature.empty()) {
        casting.temperature_c =
            parse_quantity(entry.temperature, Kind::temperature, "--temperature", -10.0, 60.0);
    }
    return casting;
}

int add_casting(const Options& options, const Entry& entry, const std::string& db,
                const RunContext& context) {
    Casting casting = weighed(entry);
    const PlanRequest request = request_of(options);
    const FoamCard card = card_of(request.foam);
    casting.foam = card.name;
    casting.mix = format("%g:%g", card.mix.a, card.mix.b);
    const CastingShape shape = casting_shape(request.part, context);
    casting.part = shape.part;
    casting.volume_mm3 = shape.volume_mm3;
    casting.area_mm2 = shape.area_mm2;
    casting.skin_reference_mm = shape.skin_reference_mm;
    casting.skin_volume_mm3 = shape.skin_volume_mm3;
    const double liquid_kg_m3 =
        mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    check_casting(casting, liquid_kg_m3);  // before a log is made for it
    casting.number = CastingLog(log_path(db), CastingLog::Access::write).add(casting, liquid_kg_m3);
    if (!options.quiet) {
        print(casting_text(casting));
    }
    return 0;
}

// Each foam and mix by itself; what can be said of one is not lost because of another.
std::string fits_text(const std::vector<Casting>& castings) {
    const std::vector<std::vector<Casting>> parted = by_foam_and_mix(castings);
    std::string text;
    std::size_t failed = 0;
    for (const std::vector<Casting>& some : parted) {
        text += text.empty() ? "" : "\n";
        try {
            text += fit_text(fit_castings(some));
        } catch (const InvalidInput& error) {
            if (++failed == parted.size()) {
                throw;
            }
            text += no_fit_text(some.front(), error.what());
        }
    }
    return text;
}

int export_csv(const std::vector<Casting>& castings, const std::string& out) {
    if (out.empty() || out == "-") {
        print(castings_csv(castings));
    } else {
        write_file(out, castings_csv(castings));
    }
    return 0;
}

}  // namespace

Command add_tally(CLI::App& app, Options& options) {
    CLI::App* command = app.add_subcommand(
        "tally", "Log what castings weighed; fit this shop's own skin, density and waste");
    command->require_subcommand(1);
    auto entry = std::make_shared<Entry>();
    auto foam = std::make_shared<std::string>();
    auto mix = std::make_shared<std::string>();
    CLI::App* add = command->add_subcommand(
        "add", "Log one casting: cavigram tally add PART --cup 60g --part-mass 52.4g");
    add_options(*add, options, {.card = true});
    add->add_option("--db", options.db, "The log's file");
    add->add_option("--cup", entry->cup, "A and B poured together: 60g")->group("Weighed");
    add->add_option("--part-mass", entry->part_mass, "Out of the mold, trimmed: 52.4g")
        ->group("Weighed");
    add->add_option("--flash", entry->flash, "Trimmed flash, vents and sprue: 2g")
        ->group("Weighed");
    add->add_option("--stayed", entry->stayed,
                    "The film that stayed in the cups, risen foam taken out: 2g")
        ->group("Weighed");
    add->add_option("--free-rise-mass", entry->free_rise_mass,
                    "Leftover that rose freely in a cup, without the cup: 8g")
        ->group("Weighed");
    add->add_option("--free-rise-volume", entry->free_rise_volume,
                    "The volume to which it rose: 62ml")
        ->group("Weighed");
    add->add_option("--temperature", entry->temperature, "Of the room: 18C or 64F")
        ->group("Weighed");
    add->add_option("--mold", entry->mold, "Which mold")->group("Weighed");
    add->add_option("--verdict", entry->verdict, "good (default), short, lost or flashed")
        ->group("Weighed");
    add->add_option("--note", entry->note, "Anything worth knowing next time")->group("Weighed");
    add->add_option("--date", entry->date, "Default: today")->group("Weighed");
    for (const auto& [name, help] :
         {std::pair("list", "All castings"), std::pair("undo", "Take back the last one"),
          std::pair("fit", "What this shop's castings say of each foam and mix"),
          std::pair("export", "As CSV")}) {
        CLI::App* sub = command->add_subcommand(name, help);
        sub->add_option("--db", options.db, "The log's file");
        if (std::string(name) == "fit") {
            sub->add_option("--foam", *foam, "Only castings of this card");
            sub->add_option("--mix", *mix, "Only castings of this mix: 50:100");
        }
        if (std::string(name) == "export") {
            sub->add_option("--out", options.out, "CSV file (default: standard output)");
        }
    }
    return {command, [command, entry, foam, mix](const Options& given, const RunContext& context) {
                const std::string action = command->get_subcommands().front()->get_name();
                if (action == "add") {
                    return add_casting(given, *entry, given.db, context);
                }
                const auto access =
                    action == "undo" ? CastingLog::Access::write : CastingLog::Access::read;
                CastingLog log(log_path(given.db), access);
                if (action == "undo") {
                    const std::optional<Casting> gone = log.undo();
                    print(gone ? "Taken back: " + casting_text(*gone) : "The log is empty.\n");
                } else if (action == "list") {
                    print(castings_text(log.all()));
                } else if (action == "fit") {
                    print(fits_text(castings_of(log.all(), *foam, *mix)));
                } else {
                    return export_csv(log.all(), given.out);
                }
                return 0;
            }};
}

}  // namespace cavigram::program
