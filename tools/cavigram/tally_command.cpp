// SPDX-License-Identifier: GPL-3.0-or-later
#include <ctime>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/foam/liquid.h"
#include "cavigram/foam/mix_choice.h"
#include "cavigram/plan/casting_shape.h"
#include "cavigram/report/tally_text.h"
#include "cavigram/tally/casting_doubts.h"
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

bool is_there(const Options& options) {
    return std::filesystem::exists(log_path(options.db));
}

// A shop that has logged nothing has no file, and none is made by asking.
std::vector<Casting> logged(const Options& options) {
    if (!is_there(options)) {
        return {};
    }
    return castings_from_mold(CastingLog(log_path(options.db), CastingLog::Access::read).all(),
                              options.casting.mold);
}

FoamNorm norm_of(const FoamCard& card) {
    const Ranged rise = free_rise_kg_m3(card);
    return {mixed_density_kg_m3(card.mix, card.liquid_a_kg_m3, card.liquid_b_kg_m3), rise.value,
            rise.low};
}

// A slip typed twice is as wrong as one that weighs too much.
void doubt_twin(const Casting& casting, const std::vector<Casting>& castings,
                std::vector<std::string>& doubts) {
    if (castings.empty()) {
        return;
    }
    const Casting& last = castings.back();
    if (last.number != casting.number && last.date == casting.date && last.part == casting.part &&
        last.part_mass_g == casting.part_mass_g && last.cup_mass_g == casting.cup_mass_g &&
        last.note == casting.note && last.mold == casting.mold) {
        doubts.push_back(
            fmt::format("casting {} of the same day is the same in every figure", last.number));
    }
}

// What can't be is refused; what is likely a slip, unless the person says that it is none.
void check_entry(const Casting& casting, const FoamNorm& norm, const Options& options) {
    check_date(casting.date, today());
    refuse_impossible(casting, norm);
    check_casting(casting, norm.liquid_kg_m3);
    if (options.yes) {
        return;
    }
    std::vector<std::string> doubts = casting_doubts(casting, norm);
    if (is_there(options)) {
        doubt_twin(casting, CastingLog(log_path(options.db), CastingLog::Access::read).all(),
                   doubts);
    }
    if (!doubts.empty()) {
        throw InvalidInput(fmt::format(
            "Not logged, for it looks like a slip: {}; correct it, or add --yes if it is so.",
            fmt::join(doubts, "; ")));
    }
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
    check_date(casting.date, today());  // before the part is read
    const FoamCard card = card_of(options.plan.foam);
    casting.foam = card.name;
    casting.mix = fmt::format("{:g}:{:g}", card.mix.a, card.mix.b);
    const CastingShape shape = casting_shape(options.plan.part, context);
    casting.part = shape.part;
    casting.volume_mm3 = shape.volume_mm3;
    casting.area_mm2 = shape.area_mm2;
    casting.skin_reference_mm = shape.skin_reference_mm;
    casting.skin_volume_mm3 = shape.skin_volume_mm3;
    const FoamNorm norm = norm_of(card);
    check_entry(casting, norm, options);  // before a log is made for it
    casting.number =
        CastingLog(log_path(options.db), CastingLog::Access::write).add(casting, norm.liquid_kg_m3);
    if (!options.quiet) {
        print(casting_text(casting));
    }
    return 0;
}

// With the file's name: it may be another than the person means.
std::string nothing_yet(const Options& options) {
    return "Nothing yet in " + log_path(options.db).string() +
           "; cavigram tally add PART logs what a casting weighed.\n";
}

int list(const Options& options) {
    if (!is_there(options)) {
        print(nothing_yet(options));
        return 0;
    }
    const std::vector<Casting> castings = logged(options);
    std::string text = castings_text(castings);
    if (!options.casting.mold.empty() && !castings.empty()) {
        text += mold_text(options.casting.mold, castings);
    }
    text += history_text(CastingLog(log_path(options.db), CastingLog::Access::read).history(),
                         options.history);
    print(text);
    return 0;
}

// The casting with what was given in place of what stands there.
Casting corrected(const Casting& was, const Options& options) {
    Casting now = was;
    const auto take = [&](const char* option, auto member) {
        if (options.has(option)) {
            now.*member = options.casting.*member;
        }
    };
    take("cup", &Casting::cup_mass_g);
    take("part-mass", &Casting::part_mass_g);
    take("flash", &Casting::flash_mass_g);
    take("stayed", &Casting::stayed_mass_g);
    take("free-rise-mass", &Casting::free_rise_mass_g);
    take("free-rise-volume", &Casting::free_rise_volume_ml);
    take("temperature", &Casting::temperature_c);
    take("mold", &Casting::mold);
    take("verdict", &Casting::verdict);
    take("note", &Casting::note);
    take("date", &Casting::date);
    return now;
}

// The log that is there; what is to be changed must be in it.
CastingLog log_to_change(const Options& options) {
    if (options.casting.number == 0) {
        throw InvalidInput(
            "No casting is named; give its number, as \"cavigram tally list\" shows it.");
    }
    if (!is_there(options)) {
        throw InvalidInput("Nothing is logged yet; cavigram tally add PART logs a casting.");
    }
    return {log_path(options.db), CastingLog::Access::write};
}

int correct(const Options& options) {
    CastingLog log = log_to_change(options);
    const Casting was = log.at(options.casting.number);
    Casting now = corrected(was, options);
    FoamOptions foam;
    foam.card = options.has("foam") ? options.plan.foam.card : was.foam;
    if (options.has("mix")) {
        foam.mix = options.plan.foam.mix;
    } else if (!options.has("foam")) {  // another card brings its own
        foam.mix = parse_mix_ratio(was.mix, "The log's mix");
    }
    const FoamCard card = card_of(foam);
    now.foam = card.name;
    now.mix = fmt::format("{:g}:{:g}", card.mix.a, card.mix.b);
    const FoamNorm norm = norm_of(card);
    check_entry(now, norm, options);
    const Casting before = log.correct(now, today(), norm.liquid_kg_m3);
    print("Was: " + casting_text(before) + "Now: " + casting_text(now));
    return 0;
}

int remove(const Options& options) {
    print("Removed: " +
          casting_text(log_to_change(options).remove(options.casting.number, today())));
    return 0;
}

int undo(const Options& options) {
    std::optional<Casting> gone;
    if (is_there(options)) {
        gone = CastingLog(log_path(options.db), CastingLog::Access::write).undo(today());
    }
    print(gone ? "Taken back: " + casting_text(*gone) : nothing_yet(options));
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
            text += no_fit_text(some.front(), error.told());
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
        {"tally list", "All castings, or those from one mold",
         [](const Options& given, const RunContext&) { return list(given); }},
        {"tally correct", "Correct a casting by its number: cavigram tally correct 2 --flash 2g",
         [](const Options& given, const RunContext&) { return correct(given); }},
        {"tally remove", "Remove a casting by its number; it stays in the history",
         [](const Options& given, const RunContext&) { return remove(given); }},
        {"tally undo", "Take back the last one",
         [](const Options& given, const RunContext&) { return undo(given); }},
        {"tally fit", "What this shop's castings say of each foam and mix",
         [](const Options& given, const RunContext&) { return fit(given); }},
        {"tally export", "As CSV",
         [](const Options& given, const RunContext&) { return export_csv(given); }},
    };
}

}  // namespace cavigram::program
