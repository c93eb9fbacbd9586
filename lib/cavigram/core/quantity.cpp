// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/quantity.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>
#include <optional>
#include <vector>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

// One unit: its spelling (lower case; letters' case is ignored), its kind, and how much of the held
// unit it is.
struct Unit {
    std::string_view spelling;
    Kind kind;
    double factor;
    double offset = 0.0;  // held = factor * (number + offset); for temperatures
};

// Exact by definition: inch, pound, gallon (231 in3), imperial gallon (4.54609 L), standard
// gravity. NIST SP 811 (2008) B.8.
constexpr double kInch = 25.4;
constexpr double kFoot = 304.8;
constexpr double kPound = 453.59237;
constexpr double kOunce = kPound / 16.0;
constexpr double kUsGallon = 231.0 * kInch * kInch * kInch;
constexpr double kImperialGallon = 4546090.0;
constexpr double kGravity = 9.80665;

constexpr std::array kUnits = {
    Unit{"mm", Kind::length, 1.0},
    Unit{"cm", Kind::length, 10.0},
    Unit{"m", Kind::length, 1000.0},
    Unit{"um", Kind::length, 0.001},
    Unit{"in", Kind::length, kInch},
    Unit{"inch", Kind::length, kInch},
    Unit{"inches", Kind::length, kInch},
    Unit{"\"", Kind::length, kInch},
    Unit{"ft", Kind::length, kFoot},
    Unit{"'", Kind::length, kFoot},
    Unit{"foot", Kind::length, kFoot},
    Unit{"feet", Kind::length, kFoot},
    Unit{"mm2", Kind::area, 1.0},
    Unit{"cm2", Kind::area, 100.0},
    Unit{"m2", Kind::area, 1e6},
    Unit{"in2", Kind::area, kInch* kInch},
    Unit{"ft2", Kind::area, kFoot* kFoot},
    Unit{"mm3", Kind::volume, 1.0},
    Unit{"cm3", Kind::volume, 1e3},
    Unit{"cc", Kind::volume, 1e3},
    Unit{"ml", Kind::volume, 1e3},
    Unit{"dl", Kind::volume, 1e5},
    Unit{"l", Kind::volume, 1e6},
    Unit{"m3", Kind::volume, 1e9},
    Unit{"in3", Kind::volume, kInch* kInch* kInch},
    Unit{"ft3", Kind::volume, kFoot* kFoot* kFoot},
    Unit{"cuin", Kind::volume, kInch* kInch* kInch},
    Unit{"cuft", Kind::volume, kFoot* kFoot* kFoot},
    Unit{"liter", Kind::volume, 1e6},
    Unit{"liters", Kind::volume, 1e6},
    Unit{"floz", Kind::volume, kUsGallon / 128.0},
    Unit{"impfloz", Kind::volume, kImperialGallon / 160.0},
    Unit{"gal", Kind::volume, kUsGallon},
    Unit{"impgal", Kind::volume, kImperialGallon},
    Unit{"mg", Kind::mass, 1e-3},
    Unit{"g", Kind::mass, 1.0},
    Unit{"kg", Kind::mass, 1000.0},
    Unit{"oz", Kind::mass, kOunce},
    Unit{"lb", Kind::mass, kPound},
    Unit{"lbs", Kind::mass, kPound},
    Unit{"gram", Kind::mass, 1.0},
    Unit{"grams", Kind::mass, 1.0},
    Unit{"ounce", Kind::mass, kOunce},
    Unit{"ounces", Kind::mass, kOunce},
    Unit{"pound", Kind::mass, kPound},
    Unit{"pounds", Kind::mass, kPound},
    // Pounds for each cubic foot, as the trade writes it; g/mm3 to kg/m3.
    Unit{"pcf", Kind::density, kPound / (kFoot * kFoot * kFoot) * 1e6},
    Unit{"c", Kind::temperature, 1.0},
    Unit{"f", Kind::temperature, 5.0 / 9.0, -32.0},
    Unit{"k", Kind::temperature, 1.0, -273.15},
    Unit{"s", Kind::time, 1.0},
    Unit{"sec", Kind::time, 1.0},
    Unit{"seconds", Kind::time, 1.0},
    Unit{"min", Kind::time, 60.0},
    Unit{"minutes", Kind::time, 60.0},
    Unit{"h", Kind::time, 3600.0},
    Unit{"pa", Kind::pressure, 1e-3},
    Unit{"kpa", Kind::pressure, 1.0},
    Unit{"bar", Kind::pressure, 100.0},
    Unit{"mbar", Kind::pressure, 0.1},
    Unit{"psi", Kind::pressure, kPound * 1e-6 * kGravity / (kInch * kInch * 1e-6)},
    Unit{"inh2o", Kind::pressure, 0.2490889},
    Unit{"pas", Kind::viscosity, 1.0},
    Unit{"mpas", Kind::viscosity, 1e-3},
    Unit{"cp", Kind::viscosity, 1e-3},
    Unit{"deg", Kind::angle, 1.0},
    Unit{"%", Kind::share, 0.01},
};

// A spelling as the table has it: spaces, dots, degree signs and carets gone, powers as plain
// digits, lower case.
std::string plain_spelling(std::string_view text) {
    static constexpr std::array<std::pair<std::string_view, std::string_view>, 6> kReplace = {
        {{"²", "2"}, {"³", "3"}, {"°", ""}, {"µ", "u"}, {"·", ""}, {"″", "\""}}};
    std::string plain(text);
    for (const auto& [from, to] : kReplace) {
        for (std::size_t at = plain.find(from); at != std::string::npos; at = plain.find(from)) {
            plain.replace(at, from.size(), to);
        }
    }
    std::erase_if(plain, [](char c) { return c == ' ' || c == '.' || c == '^' || c == '*'; });
    std::transform(plain.begin(), plain.end(), plain.begin(), [](char c) {
        return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    });
    return plain;
}

std::optional<Unit> simple_unit(std::string_view spelling) {
    for (const Unit& unit : kUnits) {
        if (unit.spelling == spelling) {
            return unit;
        }
    }
    return std::nullopt;
}

// A unit from the table, or a mass over a volume (a density) or over an area.
std::optional<Unit> find_unit(std::string_view spelling) {
    const std::size_t slash = spelling.find('/');
    if (slash == std::string_view::npos) {
        return simple_unit(spelling);
    }
    const auto above = simple_unit(spelling.substr(0, slash));
    const auto below = simple_unit(spelling.substr(slash + 1));
    if (!above || !below || above->kind != Kind::mass) {
        return std::nullopt;
    }
    if (below->kind == Kind::volume) {  // g/mm3 to kg/m3
        return Unit{spelling, Kind::density, above->factor / below->factor * 1e6};
    }
    if (below->kind == Kind::area) {  // g/mm2 to g/m2
        return Unit{spelling, Kind::areal_density, above->factor / below->factor * 1e6};
    }
    return std::nullopt;
}

[[noreturn]] void refuse(std::string_view name, std::string_view text, const std::string& why,
                         Kind kind) {
    throw InvalidInput(fmt::format("{} is \"{}\", {}; give {}, such as {}.", name, text, why,
                                   to_text(kind), example_of(kind)));
}

std::string_view trimmed(std::string_view text) {
    while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) {
        text.remove_prefix(1);
    }
    while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) {
        text.remove_suffix(1);
    }
    return text;
}

// Digits, a slash, digits: `1/16`. Moves `at` behind it.
std::optional<double> fraction(const char*& at, const char* end) {
    unsigned above = 0;
    unsigned below = 0;
    const auto [slash, first] = std::from_chars(at, end, above);
    if (first != std::errc() || slash == end || *slash != '/') {
        return std::nullopt;
    }
    const auto [rest, second] = std::from_chars(slash + 1, end, below);
    if (second != std::errc() || below == 0) {
        return std::nullopt;
    }
    at = rest;
    return static_cast<double>(above) / below;
}

// A decimal number, or as a ruler in inches has it: `1/16`, `1 1/2`, `1-1/2`. Moves `at` behind it.
std::optional<double> number_at(const char*& at, const char* end) {
    if (at != end && *at == '+') {  // from_chars knows no plus
        ++at;
    }
    const double sign = at != end && *at == '-' ? -1.0 : 1.0;
    const char* alone = sign < 0.0 ? at + 1 : at;
    if (const auto value = fraction(alone, end)) {
        at = alone;
        return sign * *value;
    }
    double number = 0.0;
    const auto [rest, error] = std::from_chars(at, end, number);
    if (error != std::errc() || !std::isfinite(number)) {
        return std::nullopt;
    }
    at = rest;
    if (rest != end && (*rest == ' ' || *rest == '-')) {
        const char* behind = rest + 1;
        if (const auto value = fraction(behind, end)) {
            at = behind;
            number += sign * *value;
        }
    }
    return number;
}

}  // namespace

const char* to_text(Kind kind) {
    switch (kind) {
        case Kind::length:
            return "a length";
        case Kind::area:
            return "an area";
        case Kind::volume:
            return "a volume";
        case Kind::mass:
            return "a mass";
        case Kind::density:
            return "a density";
        case Kind::areal_density:
            return "a mass for each area";
        case Kind::temperature:
            return "a temperature";
        case Kind::time:
            return "a time";
        case Kind::pressure:
            return "a pressure";
        case Kind::viscosity:
            return "a viscosity";
        case Kind::angle:
            return "an angle";
        case Kind::share:
            return "a share";
    }
    return "a quantity";
}

const char* example_of(Kind kind) {
    switch (kind) {
        case Kind::length:
            return "355mm or 14in";
        case Kind::area:
            return "50cm2 or 8in2";
        case Kind::volume:
            return "500ml or 16floz";
        case Kind::mass:
            return "150g or 5.3oz";
        case Kind::density:
            return "8lb/ft3 or 128kg/m3";
        case Kind::areal_density:
            return "40g/m2";
        case Kind::temperature:
            return "20C or 68F";
        case Kind::time:
            return "45s or 30min";
        case Kind::pressure:
            return "20kPa or 3psi";
        case Kind::viscosity:
            return "1000mPas";
        case Kind::angle:
            return "3deg";
        case Kind::share:
            return "10% or 0.1";
    }
    return "";
}

double parse_quantity(std::string_view text, Kind kind, std::string_view name) {
    const std::string_view whole = trimmed(text);
    const char* rest = whole.data();
    const std::optional<double> number = number_at(rest, whole.data() + whole.size());
    if (!number) {
        refuse(name, text, "which does not begin with a number", kind);
    }
    const std::string_view tail =
        trimmed({rest, static_cast<std::size_t>(whole.data() + whole.size() - rest)});
    if (!tail.empty() && tail.front() == ',') {
        refuse(name, text, "with a comma; decimals take a point", kind);
    }
    if (tail.empty()) {
        if (kind == Kind::share) {
            return *number;
        }
        refuse(name, text, "a number without a unit", kind);
    }
    const std::string spelling = plain_spelling(tail);
    const std::optional<Unit> unit = find_unit(spelling);
    if (!unit) {
        refuse(name, text, fmt::format("and \"{}\" is no unit known here", tail), kind);
    }
    if (unit->kind != kind) {
        const char* hint =
            kind == Kind::volume && spelling == "oz" ? " (a fluid ounce is \"fl oz\")" : "";
        refuse(name, text, fmt::format("which is {}{}", to_text(unit->kind), hint), kind);
    }
    const double value = unit->factor * (*number + unit->offset);
    if (!std::isfinite(value)) {
        refuse(name, text, "more than any number here", kind);
    }
    return value;
}

double parse_quantity(std::string_view text, Kind kind, std::string_view name, double least,
                      double most) {
    const double value = parse_quantity(text, kind, name);
    if (!(value >= least && value <= most)) {
        throw InvalidInput(fmt::format(
            "{} is \"{}\", outside what makes sense; give {} from {} to {}.", name, text,
            to_text(kind), quantity_text(least, kind), quantity_text(most, kind)));
    }
    return value;
}

std::string quantity_text(double value, Kind kind, int digits) {
    static constexpr std::array kHeld = {" mm", " mm2", " mm3", " g",    " kg/m3", " g/m2",
                                         " C",  " s",   " kPa", " Pa s", " deg",   " %"};
    const double shown = kind == Kind::share ? 100.0 * value : value;
    return significant(shown, digits) + kHeld[static_cast<std::size_t>(kind)];
}

MixRatio parse_mix_ratio(std::string_view text, std::string_view name) {
    MixRatio mix;
    const std::size_t colon = text.find(':');
    const auto number = [](std::string_view part, double& value) {
        part = trimmed(part);
        const auto [rest, error] = std::from_chars(part.data(), part.data() + part.size(), value);
        return error == std::errc() && rest == part.data() + part.size() && std::isfinite(value) &&
               value > 0.0;
    };
    if (colon == std::string_view::npos || !number(text.substr(0, colon), mix.a) ||
        !number(text.substr(colon + 1), mix.b)) {
        throw InvalidInput(fmt::format(
            "{} is \"{}\"; give parts of A and of B by weight, such as 50:100.", name, text));
    }
    return mix;
}

}  // namespace cavigram
