// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/quantity.h"

namespace cavigram {

/// Which units come first for a person.
enum class UnitSystem { metric, us };

/// How a quantity stands in a sentence.
enum class Telling {
    pair,          ///< In both systems: "33.7 g (1.19 oz)".
    single,        ///< In the person's own: "33.7 g" or "1.19 oz".
    number,        ///< The same without its unit, as the first end of a range: "27.7".
    drill,         ///< A length as drills are sold: "2.0 mm", or "5/64 in (2.0 mm)".
    other_single,  ///< As single, in the system that is not the person's own.
    other_number,  ///< As number, in that system.
};

/// A quantity within a sentence: a mark that `rendered` turns into figures in the person's own
/// units, so that a sentence is worded once. Kinds: length, area, volume, mass, density,
/// areal_density, temperature, pressure; the value in the unit of the kind (quantity.h), with so
/// many significant digits.
///
/// \pre finite, another kind is a bug
[[nodiscard]] std::string told(double value, Kind kind, int digits = 3,
                               Telling telling = Telling::pair);

/// As told, in the person's own units only: "33.7 g" or "1.19 oz".
[[nodiscard]] inline std::string told_own(double value, Kind kind, int digits) {
    return told(value, kind, digits, Telling::single);
}
/// As told_own without the unit, as the first end of a range: "27.7".
[[nodiscard]] inline std::string told_end(double value, Kind kind, int digits) {
    return told(value, kind, digits, Telling::number);
}
/// The width of a hole to drill: "2.0 mm" or "5/64 in (2.0 mm)".
[[nodiscard]] inline std::string told_drill(double mm) {
    return told(mm, Kind::length, 2, Telling::drill);
}
/// A place in the part's coordinates, as a mark: "x 12.3, y 0.0, z 45.6 mm".
///
/// \pre finite
[[nodiscard]] std::string told_place(double x_mm, double y_mm, double z_mm);

/// The name of a setting, such as "mold-holds", as a mark: whoever reads it is told how *they* set
/// it.
///
/// \pre lower case, digits and hyphens
[[nodiscard]] std::string setting(std::string_view name);

/// How settings are named: as the program's options, "--mold-holds", or as the library's members,
/// "mold_holds".
enum class Settings { options, members };

/// The sentence with figures in place of its marks: "a core of 128 kg/m3 (8.00 lb/ft3)". Text
/// without marks comes back as it is. O(length)
[[nodiscard]] std::string rendered(std::string_view sentence, UnitSystem first = UnitSystem::metric,
                                   Settings settings = Settings::options);

/// The sentence with its marks, fit to be shown on one line whatever words of a person or a file it
/// holds: line breaks and tabs become blanks; other control characters, marks that are none, and
/// bytes that are no UTF-8 become the sign for that, U+FFFD. Otherwise a file could write to the
/// terminal of who reads of it, and JSON would not be JSON. O(length)
[[nodiscard]] std::string one_line(std::string_view sentence);

/// Whether a character begins or ends a mark: the only control characters in a sentence.
[[nodiscard]] constexpr bool is_mark(char c) {
    return c == '\x1e' || c == '\x1f';
}

/// A sentence in pieces, for those who render it elsewhere.
struct ToldPiece {
    /// What kind of piece it is.
    enum class Is { text, quantity, place, setting };
    Is is = Is::text;                  ///< Which of the members below hold.
    std::string text;                  ///< Of a text or a setting.
    double value = 0.0;                ///< Of a quantity, in the unit of its kind.
    Kind kind = Kind::length;          ///< Of a quantity.
    int digits = 3;                    ///< Significant ones, of a quantity.
    Telling telling = Telling::pair;   ///< How the quantity stands in the sentence.
    std::array<double, 3> place_mm{};  ///< Of a place, in the part's coordinates.
};
[[nodiscard]] std::vector<ToldPiece> told_pieces(std::string_view sentence);

}  // namespace cavigram
