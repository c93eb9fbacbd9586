// SPDX-License-Identifier: GPL-3.0-or-later
#include <ctime>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/core/quantity.h"
#include "cavigram/core/text.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/tally/fit.h"

#include "commands.h"

namespace cavigram::program {

namespace {

// What is typed after `tally add`, word for word.
struct Entry {
    std::string cup;
    std::string part_mass;
    std::string flash;
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

int add_casting(const Options& options, const Entry& entry, const std::string& db,
                const RunContext& context) {
    if (entry.part_mass.empty() && entry.cup.empty()) {
        throw InvalidInput("Nothing was weighed; give --part-mass, and --cup for what was poured.");
    }
    Casting casting;
    casting.date = entry.date.empty() ? today() : entry.date;
    casting.mold = entry.mold;
    casting.verdict = entry.verdict;
    casting.note = entry.note;
    casting.cup_mass_g = mass_of(entry.cup, "--cup");
    casting.part_mass_g = mass_of(entry.part_mass, "--part-mass");
    casting.flash_mass_g = mass_of(entry.flash, "--flash");
    if (!entry.temperature.empty()) {
        casting.temperature_c =
            parse_quantity(entry.temperature, Kind::temperature, "--temperature", -10.0, 60.0);
    }
    const PlanRequest request = request_of(options);
    const FoamCard card = card_of(request.foam);
    casting.foam = card.name;
    casting.mix = format("%g:%g", card.mix.a, card.mix.b);
    const Plan plan = make_plan(request, {}, context);
    casting.part = plan.input.file;
    casting.volume_mm3 = plan.measures.mass.volume_mm3;
    casting.area_mm2 = plan.measures.mass.area_mm2;
    CastingLog log(log_path(db), CastingLog::Access::write);
    casting.number = log.add(casting);
    if (!options.quiet) {
        print(casting_text(casting));
    }
    return 0;
}

// Castings of the foam and mix asked for; all, if none is asked for.
std::vector<Casting> chosen(const std::vector<Casting>& all, const std::string& foam,
                            const std::string& mix) {
    std::vector<Casting> some;
    for (const Casting& casting : all) {
        if ((foam.empty() || casting.foam == foam) && (mix.empty() || casting.mix == mix)) {
            some.push_back(casting);
        }
    }
    return some;
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
    add_options(*add, options, {.foam = true});
    add->add_option("--cup", entry->cup, "A and B poured together: 60g")->group("Weighed");
    add->add_option("--part-mass", entry->part_mass, "Out of the mold, trimmed: 52.4g")
        ->group("Weighed");
    add->add_option("--flash", entry->flash, "Trimmed flash, vents and sprue: 2g")
        ->group("Weighed");
    add->add_option("--temperature", entry->temperature, "18C or 64F")->group("Weighed");
    add->add_option("--mold", entry->mold, "Which mold")->group("Weighed");
    add->add_option("--verdict", entry->verdict, "good, flaw, lost or your own word")
        ->group("Weighed");
    add->add_option("--note", entry->note, "Anything worth knowing next time")->group("Weighed");
    add->add_option("--date", entry->date, "Default: today")->group("Weighed");
    for (const auto& [name, help] :
         {std::pair("list", "All castings"), std::pair("undo", "Take back the last one"),
          std::pair("fit", "This shop's skin, core density and waste"),
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
                    print(fit_text(fit_castings(chosen(log.all(), *foam, *mix))));
                } else {
                    return export_csv(log.all(), given.out);
                }
                return 0;
            }};
}

}  // namespace cavigram::program
