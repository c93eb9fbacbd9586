// SPDX-License-Identifier: GPL-3.0-or-later
#include "tally_work.h"

#include <algorithm>
#include <ctime>
#include <string>

#include <fmt/format.h>

#include "cavigram/foam/liquid.h"
#include "cavigram/foam/mix_choice.h"
#include "cavigram/plan/casting_shape.h"
#include "cavigram/tally/casting_doubts.h"
#include "cavigram/tally/casting_log.h"

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

// No casting can be logged with a date to come (check_date), so one that has one tells of a clock
// that was set back since; without a date given, this casting would get a wrong one.
void doubt_clock(const std::vector<Casting>& castings, std::vector<std::string>& doubts) {
    const std::string now = today();
    const auto later = std::find_if(castings.begin(), castings.end(), [&](const Casting& logged) {
        return logged.date.substr(0, now.size()) > now;
    });
    if (later != castings.end()) {
        doubts.push_back(
            fmt::format("this machine's clock says {}, before casting {} of {}, so give the day",
                        now, later->number, later->date));
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
    if (log_is_there(options)) {
        const std::vector<Casting> castings =
            CastingLog(log_path(options), CastingLog::Access::read).all();
        doubt_twin(casting, castings, doubts);
        if (casting.number == 0 && !options.has("date")) {
            doubt_clock(castings, doubts);
        }
    }
    if (!doubts.empty()) {
        throw LikelySlip(fmt::format(
            "Not logged, for it looks like a slip: {}; correct it, or add --yes if it is so.",
            fmt::join(doubts, "; ")));
    }
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
    if (!log_is_there(options)) {
        throw InvalidInput("Nothing is logged yet; cavigram tally add PART logs a casting.");
    }
    return {log_path(options), CastingLog::Access::write};
}

}  // namespace

std::filesystem::path log_path(const Options& options) {
    return options.db.empty() ? usual_log_path() : std::filesystem::path(options.db);
}

bool log_is_there(const Options& options) {
    return std::filesystem::exists(log_path(options));
}

std::vector<Casting> logged(const Options& options) {
    if (!log_is_there(options)) {
        return {};
    }
    return castings_from_mold(CastingLog(log_path(options), CastingLog::Access::read).all(),
                              options.casting.mold);
}

Casting add_casting(const Options& options, const RunContext& context) {
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
        CastingLog(log_path(options), CastingLog::Access::write).add(casting, norm.liquid_kg_m3);
    return casting;
}

Correction correct_casting(const Options& options) {
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
    return {before, now};
}

Casting remove_casting(const Options& options) {
    return log_to_change(options).remove(options.casting.number, today());
}

std::optional<Casting> undo_casting(const Options& options) {
    if (!log_is_there(options)) {
        return std::nullopt;
    }
    return CastingLog(log_path(options), CastingLog::Access::write).undo(today());
}

}  // namespace cavigram::program
