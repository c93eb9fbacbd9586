// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/casting.h"

#include <algorithm>
#include <cmath>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/limits.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

// Each reading of a gram scale, the coarsest in common use, is off by half a gram at most; cup and
// part, the least that is compared, by one gram together.
constexpr double kScaleTolerance_g = 1.0;

void check_mass(const std::optional<double>& mass_g, const char* what, bool zero_allowed) {
    if (mass_g &&
        !(std::isfinite(*mass_g) && (*mass_g > 0.0 || (zero_allowed && *mass_g == 0.0)))) {
        throw InvalidInput(
            fmt::format("{} is {} g, which can't be; weigh again.", what, significant(*mass_g, 4)));
    }
}

void check_shape(const Casting& c) {
    if (!(c.volume_mm3 > 0.0 && c.area_mm2 > 0.0) || !std::isfinite(c.volume_mm3) ||
        !std::isfinite(c.area_mm2)) {
        throw InvalidInput(
            "The casting has no volume or area; name the part's mesh, so that they are known.");
    }
    if (c.skin_volume_mm3.has_value() != c.skin_reference_mm.has_value() ||
        (c.skin_volume_mm3 && !(*c.skin_volume_mm3 > 0.0 && *c.skin_volume_mm3 <= c.volume_mm3 &&
                                *c.skin_reference_mm > 0.0))) {
        throw InvalidInput(
            "The casting's skin volume does not fit its cavity; give its depth too, and no more "
            "than the whole volume.");
    }
}

void check_free_rise(const Casting& c, double liquid_kg_m3) {
    if (c.free_rise_mass_g.has_value() != c.free_rise_volume_ml.has_value()) {
        throw InvalidInput(
            fmt::format("A freely risen cup needs its mass and its volume; give {} and {}.",
                        setting("free-rise-mass"), setting("free-rise-volume")));
    }
    if (!c.free_rise_mass_g) {
        return;
    }
    if (!(std::isfinite(*c.free_rise_volume_ml) && *c.free_rise_volume_ml > 0.0)) {
        throw InvalidInput(
            fmt::format("The freely risen cup holds {} mL, which can't be; measure again.",
                        significant(*c.free_rise_volume_ml, 4)));
    }
    const double density = *free_rise_density_kg_m3(c);
    if (density > std::min(liquid_kg_m3, kDensestLiquid_kg_m3)) {
        throw InvalidInput(fmt::format(
            "The freely risen cup comes to {} kg/m3, more than the liquid; give the foam's own "
            "mass without the cup, and the volume to which it rose.",
            significant(density, 3)));
    }
}

std::string csv_number(const std::optional<double>& value) {
    return value ? fmt::format("{:.10g}", *value) : "";
}

}  // namespace

std::string csv_field(const std::string& text) {
    if (text.find_first_of(",\"\r\n") == std::string::npos) {
        return text;
    }
    std::string quoted = "\"";
    for (const char c : text) {
        quoted += c == '"' ? "\"\"" : std::string(1, c);
    }
    return quoted + "\"";
}

CastingVerdict casting_verdict(std::string_view word) {
    if (word.empty() || word == "good") {
        return CastingVerdict::good;
    }
    return word == "short"     ? CastingVerdict::short_shot
           : word == "lost"    ? CastingVerdict::lost
           : word == "flashed" ? CastingVerdict::flashed
                               : CastingVerdict::other;
}

CastingVerdict parse_casting_verdict(std::string_view word, std::string_view name) {
    const CastingVerdict verdict = casting_verdict(word);
    if (verdict == CastingVerdict::other) {
        throw InvalidInput(
            fmt::format("{} is \"{}\"; give good, short, lost or flashed, and your "
                        "own words as a note.",
                        name, word));
    }
    return verdict;
}

std::optional<double> mold_mass_g(const Casting& casting) {
    return casting.part_mass_g
               ? std::optional(*casting.part_mass_g + casting.flash_mass_g.value_or(0.0))
               : std::nullopt;
}

std::optional<double> free_rise_density_kg_m3(const Casting& casting) {
    return casting.free_rise_mass_g && casting.free_rise_volume_ml
               ? std::optional(1e3 * *casting.free_rise_mass_g / *casting.free_rise_volume_ml)
               : std::nullopt;
}

double skin_area_mm2(const Casting& casting) {
    return casting.skin_volume_mm3 && casting.skin_reference_mm
               ? *casting.skin_volume_mm3 / *casting.skin_reference_mm
               : casting.area_mm2;
}

bool heavier_than_polymer(const Casting& casting) {
    return casting.part_mass_g.value_or(0.0) > kGramsPerMm3 * kPolymer_kg_m3 * casting.volume_mm3;
}

bool is_possible(const Casting& casting) {
    constexpr double kMost_g = 1e6;  // a ton, far beyond what is poured by hand
    // As check_mass: what was weighed as such is more than nothing.
    const auto is_mass = [](const std::optional<double>& mass_g, bool zero_allowed) {
        return !mass_g || ((zero_allowed ? *mass_g >= 0.0 : *mass_g > 0.0) && *mass_g <= kMost_g);
    };
    // A cube of the least length, and one of the most; no part has more surface for its volume than
    // the first.
    const double least = kLength_mm.least;
    const double most = kLength_mm.most;
    const double surface_per_mm = skin_area_mm2(casting) / casting.volume_mm3;
    return casting.volume_mm3 >= least * least * least &&
           casting.volume_mm3 <= most * most * most && casting.area_mm2 > 0.0 &&
           surface_per_mm > 0.0 && surface_per_mm <= 6.0 / least &&
           is_mass(casting.cup_mass_g, false) && is_mass(casting.part_mass_g, false) &&
           is_mass(casting.flash_mass_g, true) && is_mass(casting.stayed_mass_g, true) &&
           is_mass(casting.free_rise_mass_g, false) &&
           free_rise_density_kg_m3(casting).value_or(0.0) <= kDensestLiquid_kg_m3 &&
           !heavier_than_polymer(casting);
}

void check_casting(const Casting& c, double liquid_kg_m3) {
    check_mass(c.cup_mass_g, "The mass in the cup", false);
    check_mass(c.part_mass_g, "The part's mass", false);
    check_mass(c.flash_mass_g, "The trimmed mass", true);
    check_mass(c.stayed_mass_g, "The mass that stayed in the cups", true);
    check_mass(c.free_rise_mass_g, "The freely risen cup", false);
    check_shape(c);
    check_free_rise(c, liquid_kg_m3);
    static_cast<void>(parse_casting_verdict(c.verdict, "The verdict"));
    if (heavier_than_polymer(c)) {
        throw InvalidInput(
            fmt::format("The part weighs {} g, more than its cavity full of polymer "
                        "without gas ({} g); weigh again, or check the mesh's size.",
                        significant(*c.part_mass_g, 4),
                        significant(kGramsPerMm3 * kPolymer_kg_m3 * c.volume_mm3, 4)));
    }
    const double out = mold_mass_g(c).value_or(c.flash_mass_g.value_or(0.0)) +
                       c.stayed_mass_g.value_or(0.0) + c.free_rise_mass_g.value_or(0.0);
    if (c.cup_mass_g && out > *c.cup_mass_g + kScaleTolerance_g) {
        throw InvalidInput(
            fmt::format("Part, flash and what stayed in the cups weigh {} g, more than "
                        "the {} g poured; weigh again.",
                        significant(out, 4), significant(*c.cup_mass_g, 4)));
    }
}

std::string castings_csv(const std::vector<Casting>& castings) {
    std::string csv =
        "number,date,part,mold,foam,mix,volume_mm3,area_mm2,cup_mass_g,part_mass_g,flash_mass_g,"
        "temperature_c,verdict,note,skin_reference_mm,skin_volume_mm3,stayed_mass_g,"
        "free_rise_mass_g,free_rise_volume_ml\r\n";
    for (const Casting& c : castings) {
        csv += fmt::format("{},", static_cast<long long>(c.number));
        for (const std::string& text : {c.date, c.part, c.mold, c.foam, c.mix}) {
            csv += csv_field(text) + ",";
        }
        for (const auto& value : {std::optional(c.volume_mm3), std::optional(c.area_mm2),
                                  c.cup_mass_g, c.part_mass_g, c.flash_mass_g, c.temperature_c}) {
            csv += csv_number(value) + ",";
        }
        csv += csv_field(c.verdict) + "," + csv_field(c.note);
        for (const auto& value : {c.skin_reference_mm, c.skin_volume_mm3, c.stayed_mass_g,
                                  c.free_rise_mass_g, c.free_rise_volume_ml}) {
            csv += "," + csv_number(value);
        }
        csv += "\r\n";
    }
    return csv;
}

}  // namespace cavigram
