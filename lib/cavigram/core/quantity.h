// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>

namespace cavigram {

/// What a quantity measures, and the unit in which the program holds it.
enum class Kind {
    length,         ///< mm
    area,           ///< mm2
    volume,         ///< mm3
    mass,           ///< g
    density,        ///< kg/m3
    areal_density,  ///< g/m2
    temperature,    ///< degrees Celsius
    time,           ///< s
    pressure,       ///< kPa
    viscosity,      ///< Pa s
    angle,          ///< degrees
    share,          ///< 0 to 1; written as `10%` or `0.1`
};

/// The kind in a sentence: "a length", "a density".
[[nodiscard]] const char* to_text(Kind kind);
/// An example of the kind, for remedies: "14in or 355mm".
[[nodiscard]] const char* example_of(Kind kind);

/// Reads a quantity with its unit: `14in`, `355 mm`, `8 lb/ft3`, `8 pcf`, `0.128 g/cm³`, `68F`,
/// `5.3 oz`, `30 min`, `10%`; fractions as a ruler has them: `1/16in`, `1 1/2 in`.
///
/// The unit is required, except that a bare share is allowed. An ounce is a mass and never a
/// volume; `fl oz` is the US fluid ounce, `imp fl oz` the imperial one. Factors are the exact
/// definitions (NIST SP 811, 2008, B.8). `name` is how the sentence of an error calls the quantity:
/// "--density", "skin.thickness in my.toml".
///
/// \throw InvalidInput for no number, no unit, an unknown unit, a unit of another kind, or a number
/// that is not finite.
[[nodiscard]] double parse_quantity(std::string_view text, Kind kind, std::string_view name);

/// As parse_quantity, and refuses what lies outside [least, most] in the held unit.
///
/// \throw InvalidInput
[[nodiscard]] double parse_quantity(std::string_view text, Kind kind, std::string_view name,
                                    double least, double most);

/// How a value of a kind is written with its metric unit: 128.1477 of density is "128.1 kg/m3" with
/// 4 digits.
[[nodiscard]] std::string quantity_text(double value, Kind kind, int digits = 4);

/// Two whole or fractional numbers parted by a colon: `50:100`.
///
/// \throw InvalidInput unless both are positive and finite
struct MixRatio {
    double a = 50.0;   ///< Parts of A by weight.
    double b = 100.0;  ///< Parts of B by weight.
};
[[nodiscard]] MixRatio parse_mix_ratio(std::string_view text, std::string_view name);

}  // namespace cavigram
