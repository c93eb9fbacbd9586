// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "cavigram/core/quantity.h"

namespace cavigram {

/// Which units come first for a person.
enum class UnitSystem { metric, us };

/// How a quantity stands in a sentence.
enum class Telling {
    pair,    ///< In both systems: "33.7 g (1.19 oz)".
    single,  ///< In the person's own: "33.7 g" or "1.19 oz".
    number,  ///< The same without its unit, as the first end of a range: "27.7".
};

/// A quantity within a sentence: a mark that `rendered` turns into figures in the person's own
/// units, so that a sentence is worded once. Kinds: length, area, volume, mass, density,
/// areal_density, temperature, pressure; the value in the unit of the kind (quantity.h), with so
/// many significant digits. \pre finite, another kind is a bug
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

/// The sentence with figures in place of its marks: "a core of 128 kg/m3 (8.00 lb/ft3)". Text
/// without marks comes back as it is. O(length)
[[nodiscard]] std::string rendered(std::string_view sentence,
                                   UnitSystem first = UnitSystem::metric);

/// A sentence in pieces, for those who render it elsewhere: text, or a quantity.
struct ToldPiece {
    std::string text;  ///< Where it is no quantity.
    bool is_quantity = false;
    double value = 0.0;
    Kind kind = Kind::length;
    int digits = 3;
    Telling telling = Telling::pair;
};
[[nodiscard]] std::vector<ToldPiece> told_pieces(std::string_view sentence);

}  // namespace cavigram
