// SPDX-License-Identifier: GPL-3.0-or-later
#include <ctime>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/plan/casting_shape.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/tally/casting_log.h"
#include "cavigram/tally/fit.h"

#include "commands.h"

namespace cavigram::program {

namespace {

std::string today() {
    const std::time_t now = std::time(nullptr);
    std::tm local{};
    localtime_r(&now, &local);
    char text[16];
    std::strftime(text, sizeof text, "%Y-%m-%d", &local);
    return text;
}

std::filesystem::path log_path(const std::string& given) {
    return given.empty() ? usual_log_path() : std::filesystem::path(given);
}

int add_casting(const Options& options, const RunContext& context) {
    Casting casting = options.casting;
    if (!casting.part_mass_g && !casting.cup_mass_g && !casting.free_rise_mass_g) {
        throw InvalidInput(
            "Nothing was weighed; give --part-mass, and --cup for what was poured, or "
            "--free-rise-mass and --free-rise-volume of a cup that rose freely.");
    }
    if (casting.date.empty()) {
        casting.date = today();
    }
    const FoamCard card = card_of(options.plan.foam);
    casting.foam = card.name;
    casting.mix = fmt::format("{:g}:{:g}", card.mix.a, card.mix.b);
    const CastingShape shape = casting_shape(options.plan.part, context);
    casting.part = shape.part;
    casting.volume_mm3 = shape.volume_mm3;
    casting.area_mm2 = shape.area_mm2;
    casting.skin_reference_mm = shape.skin_reference_mm;
    casting.skin_volume_mm3 = shape.skin_volume_mm3;
    const double liquid_kg_m3 =
        mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3);
    check_casting(casting, liquid_kg_m3);  // before a log is made for it
    casting.number =
        CastingLog(log_path(options.db), CastingLog::Access::write).add(casting, liquid_kg_m3);
    if (!options.quiet) {
        print(casting_text(casting));
    }
    return 0;
}

int undo(const Options& options) {
    CastingLog log(log_path(options.db), CastingLog::Access::write);
    const std::optional<Casting> gone = log.undo();
    print(gone ? "Taken back: " + casting_text(*gone) : "The log is empty.\n");
    return 0;
}

std::vector<Casting> logged(const Options& options) {
    return CastingLog(log_path(options.db), CastingLog::Access::read).all();
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

int fit(const Options& options) {
    const FoamOptions& foam = options.plan.foam;
    print(
        fits_text(castings_of(logged(options), options.has("foam") ? foam.card : "",
                              foam.mix ? fmt::format("{:g}:{:g}", foam.mix->a, foam.mix->b) : "")));
    return 0;
}

int export_csv(const Options& options) {
    const std::string csv = castings_csv(logged(options));
    if (options.out.empty() || options.out == "-") {
        print(csv);
    } else {
        write_file(options.out, csv);
    }
    return 0;
}

}  // namespace

std::vector<Command> tally_commands() {
    return {
        {"tally", "Log what castings weighed; fit this shop's own skin, density and waste",
         nullptr},
        {"tally add", "Log one casting: cavigram tally add PART --cup 60g --part-mass 52.4g",
         add_casting},
        {"tally list", "All castings",
         [](const Options& given, const RunContext&) {
             print(castings_text(logged(given)));
             return 0;
         }},
        {"tally undo", "Take back the last one",
         [](const Options& given, const RunContext&) { return undo(given); }},
        {"tally fit", "What this shop's castings say of each foam and mix",
         [](const Options& given, const RunContext&) { return fit(given); }},
        {"tally export", "As CSV",
         [](const Options& given, const RunContext&) { return export_csv(given); }},
    };
}

}  // namespace cavigram::program
