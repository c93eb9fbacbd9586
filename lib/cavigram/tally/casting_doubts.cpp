// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/casting_doubts.h"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <optional>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"

namespace cavigram {

namespace {

// A density that a filled mold of the foam may well have.
struct Likely {
    double least_kg_m3 = 0.0;
    double most_kg_m3 = 0.0;
};

// Slips of the unit, as the factor by which they change a density: a mass typed in another unit
// than it was read in, a mesh read in another unit than it was drawn in (cubed).
struct UnitSlip {
    double factor;
    const char* words;
};
constexpr double kOunce_g = 28.349523125;
constexpr double kPound_g = 453.59237;
constexpr double kInch = 25.4;
constexpr UnitSlip kSlips[] = {
    {1.0 / kOunce_g, "the mass was read in ounces"},
    {kOunce_g, "the mass was read in grams, not in ounces"},
    {1.0 / kPound_g, "the mass was read in pounds"},
    {kPound_g, "the mass was read in grams, not in pounds"},
    {1e-3, "the mass was read in kilograms, or the mesh is in centimeters"},
    {1e3, "the mass was read in grams, not in kilograms"},
    {kInch * kInch * kInch, "the mesh is in inches"},
    {1.0 / (kInch * kInch * kInch), "the mesh is in millimeters"},
};

std::string explained(double density, const Likely& likely) {
    for (const UnitSlip& slip : kSlips) {
        const double meant = density / slip.factor;
        if (meant >= likely.least_kg_m3 && meant <= likely.most_kg_m3) {
            return fmt::format("; it would fit if {}", slip.words);
        }
    }
    return "";
}

bool filled(const Casting& c) {
    const CastingVerdict verdict = casting_verdict(c.verdict);
    return verdict == CastingVerdict::good || verdict == CastingVerdict::flashed;
}

// Of a filled mold, part and flash over the cavity. What is short or lost tells no density.
std::optional<double> molded_kg_m3(const Casting& c) {
    const std::optional<double> mass = mold_mass_g(c);
    return mass && filled(c) && c.volume_mm3 > 0.0 ? std::optional(1e6 * *mass / c.volume_mm3)
                                                   : std::nullopt;
}

void refuse(const char* what, double density, const FoamNorm& norm) {
    const double liquid = std::min(norm.liquid_kg_m3, kPolymer_kg_m3);
    const double lightest = kLightestShare * norm.free_rise_kg_m3;
    const Likely likely{0.5 * norm.free_rise_kg_m3, kUsualMostPacking * norm.free_rise_kg_m3};
    if (density > liquid) {
        throw InvalidInput(fmt::format(
            "{} comes to {}, heavier than its liquid{}; weigh again, or check the mesh's size.",
            what, told(density, Kind::density), explained(density, likely)));
    }
    if (density < lightest) {
        throw InvalidInput(fmt::format(
            "{} comes to {}, less than a third of the {} to which this foam rises freely{}; weigh "
            "again, check the mesh's size, or name the foam's own card with {}.",
            what, told(density, Kind::density), told(norm.free_rise_kg_m3, Kind::density),
            explained(density, likely), setting("foam")));
    }
}

// A part of `text` as a whole number; -1 if it is none.
int number_in(std::string_view text, std::size_t at, std::size_t count) {
    int value = -1;
    const char* const end = text.data() + at + count;
    const auto [rest, error] = std::from_chars(text.data() + at, end, value);
    return error == std::errc() && rest == end ? value : -1;
}

constexpr std::size_t kDateLength = 10;  // 2026-11-24

std::optional<std::chrono::year_month_day> day_of(std::string_view text) {
    if (text.size() < kDateLength || text[4] != '-' || text[7] != '-' ||
        (text.size() > kDateLength && text[kDateLength] != ' ' && text[kDateLength] != 'T')) {
        return std::nullopt;
    }
    const int year = number_in(text, 0, 4);
    const int month = number_in(text, 5, 2);
    const int day = number_in(text, 8, 2);
    if (year < 0 || month < 0 || day < 0) {
        return std::nullopt;
    }
    const std::chrono::year_month_day date{std::chrono::year(year),
                                           std::chrono::month(static_cast<unsigned>(month)),
                                           std::chrono::day(static_cast<unsigned>(day))};
    return date.ok() ? std::optional(date) : std::nullopt;
}

}  // namespace

void refuse_impossible(const Casting& c, const FoamNorm& norm) {
    FoamNorm seen = norm;
    if (const std::optional<double> cup = free_rise_density_kg_m3(c)) {
        refuse("The freely risen cup", *cup, norm);
        seen.free_rise_kg_m3 = *cup;  // what this very batch rose to
    }
    if (const std::optional<double> molded = molded_kg_m3(c)) {
        refuse("What came out of the mold", *molded, seen);
    }
}

std::vector<std::string> casting_doubts(const Casting& c, const FoamNorm& norm) {
    std::vector<std::string> doubts;
    const std::optional<double> cup = free_rise_density_kg_m3(c);
    const double rise = cup.value_or(norm.free_rise_kg_m3);
    if (const std::optional<double> molded = molded_kg_m3(c)) {
        const double lightest = cup.value_or(norm.free_rise_low_kg_m3);
        if (*molded < lightest) {
            doubts.push_back(
                fmt::format("what came out comes to {}, lighter than the foam rises freely (from "
                            "{} on): was it short?",
                            told(*molded, Kind::density), told(lightest, Kind::density)));
        } else if (*molded > kUsualMostPacking * rise) {
            doubts.push_back(fmt::format(
                "what came out comes to {}, more than {} times the free rise of {}",
                told(*molded, Kind::density), kUsualMostPacking, told(rise, Kind::density)));
        }
    }
    const double out = mold_mass_g(c).value_or(0.0) + c.stayed_mass_g.value_or(0.0) +
                       c.free_rise_mass_g.value_or(0.0);
    if (c.cup_mass_g && c.part_mass_g && filled(c) && out < 0.5 * *c.cup_mass_g) {
        doubts.push_back(fmt::format("of the {} poured only {} were found again",
                                     told(*c.cup_mass_g, Kind::mass), told(out, Kind::mass)));
    }
    if (c.part_mass_g && c.flash_mass_g.value_or(0.0) > *c.part_mass_g) {
        doubts.emplace_back("the flash weighs more than the part");
    }
    if (cup && (*cup < 0.5 * norm.free_rise_kg_m3 || *cup > 2.0 * norm.free_rise_kg_m3)) {
        doubts.push_back(fmt::format("the freely risen cup comes to {}, and the card says {}",
                                     told(*cup, Kind::density),
                                     told(norm.free_rise_kg_m3, Kind::density)));
    }
    return doubts;
}

void check_date(std::string_view date, std::string_view today) {
    const auto day = day_of(date);
    if (!day) {
        throw InvalidInput(
            fmt::format("The date is \"{}\"; give year, month and day, such as {}.", date, today));
    }
    const auto now = day_of(today);
    if (now && *day > *now) {
        throw InvalidInput(
            fmt::format("The date {} lies in the future, today being {} by this machine's clock; "
                        "give the day of "
                        "the casting, or set the clock.",
                        date, today));
    }
}

}  // namespace cavigram
