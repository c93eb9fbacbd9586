// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/told.h"

#include <cmath>
#include <string>

#include <doctest/doctest.h>

#include "cavigram/core/error.h"

using namespace cavigram;

TEST_CASE("a sentence is worded once and told in either system (docs/checks.md U1, U4, U7, U10)") {
    const std::string sentence = "weighs " + told(28.349523125, Kind::mass) + ", between " +
                                 told(25.4, Kind::length, 3, Telling::number) + " and " +
                                 told(50.8, Kind::length, 3, Telling::single) + ", at " +
                                 told(23.888889, Kind::temperature, 4) + ".";
    CHECK(rendered(sentence) ==
          "weighs 28.3 g (1.00 oz), between 25.4 and 50.8 mm, at 23.89 C (75.0 F).");
    CHECK(rendered(sentence, UnitSystem::us) ==
          "weighs 1.00 oz (28.3 g), between 1.00 and 2.00 in, at 75.00 F (23.9 C).");
    CHECK(rendered(told(16.018463374, Kind::density), UnitSystem::us) ==
          "1.00 lb/ft3 (16.0 kg/m3)");
    CHECK(rendered(told(6.894757293, Kind::pressure, 2)) == "6.9 kPa (1.0 psi)");
    CHECK(rendered(told(645.16, Kind::area), UnitSystem::us) == "1.00 in2 (6.45 cm2)");
    CHECK(rendered(told(2e6, Kind::volume, 4)) == "2.000 L (122 in3)");
    // A pound is 453.59237 g; what no kitchen scale shows is told in kilograms and pounds.
    CHECK(rendered(told(9000.0, Kind::mass)) == "9000 g (317 oz)");
    CHECK(rendered(told(45359.237, Kind::mass)) == "45.4 kg (100 lb)");
    CHECK(rendered(told(45359.237, Kind::mass), UnitSystem::us) == "100 lb (45.4 kg)");
    const std::string turned = told(25.4, Kind::length, 3, Telling::other_number) + " to " +
                               told(50.8, Kind::length, 3, Telling::other_single);
    CHECK(rendered(turned) == "1.00 to 2.00 in");
    CHECK(rendered(turned, UnitSystem::us) == "25.4 to 50.8 mm");
    // 1 oz/ft2 = 28.349523125 g / 0.09290304 m2.
    CHECK(rendered(told(28.349523125 / 0.09290304, Kind::areal_density), UnitSystem::us) ==
          "1.00 oz/ft2 (305 g/m2)");
}

TEST_CASE("each kind is told in both systems (docs/checks.md U4, U6, U7)") {
    // A cubic inch is 16.387064 cm3, a liter 1000 cm3.
    CHECK(rendered(told(16387.064, Kind::volume)) == "16.4 cm3 (1.00 in3)");
    CHECK(rendered(told(16387.064, Kind::volume), UnitSystem::us) == "1.00 in3 (16.4 cm3)");
    CHECK(rendered(told(1e6, Kind::volume)) == "1.00 L (61.0 in3)");
    CHECK(rendered(told_end(28.349523125, Kind::mass, 3), UnitSystem::us) == "1.00");
    CHECK(rendered(told_own(28.349523125, Kind::mass, 3), UnitSystem::us) == "1.00 oz");
}

// A hole that is too narrow keeps air in, so that the fraction is rounded up: to 1/64 in, which is
// 0.396875 mm, unless a twentieth of that is all that is missing.
TEST_CASE("a hole is told as a drill in inches that is no narrower (docs/checks.md U6)") {
    const auto inches = [](double mm) { return rendered(told_drill(mm), UnitSystem::us); };
    CHECK(rendered(told_drill(2.0)) == "2.0 mm");
    CHECK(inches(0.1) == "1/64 in (0.10 mm)");
    CHECK(inches(2.0) == "5/64 in (2.0 mm)");  // 1.984375 mm: 0.0156 mm less, a twenty-fifth
    CHECK(inches(2.01) == "3/32 in (2.0 mm)");
    CHECK(inches(3.175) == "1/8 in (3.2 mm)");
    CHECK(inches(6.0) == "1/4 in (6.0 mm)");
    CHECK(inches(25.4) == "1 in (25 mm)");
    CHECK(inches(38.1) == "1 1/2 in (38 mm)");
    constexpr double kStep_mm = 25.4 / 64.0;
    for (int i = 1; i <= 1200; ++i) {
        const double hole_mm = 0.05 * i;
        const std::string text = inches(hole_mm);
        const double drill_mm = parse_quantity(text.substr(0, text.find(" (")), Kind::length, text);
        INFO(text);
        CHECK(drill_mm > hole_mm - kStep_mm / 20.0 - 1e-9);
        CHECK(drill_mm < hole_mm + kStep_mm + 1e-9);
        // A multiple of the step.
        CHECK(std::abs(std::remainder(drill_mm, kStep_mm)) < 1e-9);
    }
    // No drill: a mark in a file's name may hold any number (found by fuzzing).
    CHECK(inches(6.4e86) == "2.5e+85 in (6.4e+86 mm)");
    CHECK(inches(-6.4e86) == "-2.5e+85 in (-6.4e+86 mm)");
    CHECK(inches(50800.0) == "2000 in (51000 mm)");
    CHECK(inches(25.3e3) == "996 1/16 in (25000 mm)");  // 63748.03 steps
}

TEST_CASE("what is no mark of ours stays text: a file's name may hold anything") {
    for (const std::string text : {"\x1e", "\x1f",
                                   "a\x1e"
                                   "b\x1f"
                                   "c",
                                   "\x1e"
                                   "0:3:0:abc\x1f",
                                   "\x1e"
                                   "99:3:0:1\x1f",
                                   "\x1e"
                                   "0:0:0:1\x1f",
                                   "\x1e\x1e",
                                   "\x1e"
                                   "0:3:7:1\x1f",
                                   "\x1e"
                                   "0:3:0:inf\x1f"}) {
        CHECK(rendered(text) == text);
    }
    CHECK(rendered("\x1e" + told(1, Kind::mass, 1, Telling::single)) ==
          "\x1e"
          "1 g");
}

TEST_CASE("words of others can't break out of the line of a sentence") {
    // Well-formed UTF-8 stays, all else becomes U+FFFD (Unicode 15, table 3-7 and section 3.9).
    CHECK(one_line("g/cm\xC2\xB3, \xE2\x82\xAC, \xF0\x9F\x98\x80") ==
          "g/cm\xC2\xB3, \xE2\x82\xAC, \xF0\x9F\x98\x80");
    const std::string sign = "\xEF\xBF\xBD";
    CHECK(one_line("\xC6") == sign);
    CHECK(one_line("\xC0\x80") == sign + sign);
    CHECK(one_line("\xED\xA0\x80") == sign + sign + sign);
    CHECK(one_line("\xF4\x90\x80\x80") == sign + sign + sign + sign);
    CHECK(one_line("a\r\nb\tc") == "a  b c");
    // An escape sequence would clear the terminal of who reads the sentence.
    CHECK(one_line("\x1b[2J\x7f") == sign + "[2J" + sign);
    const std::string marks = told(1.5, Kind::length) + told_place(1, 2, 3) + setting("mold-holds");
    CHECK(one_line(marks) == marks);
    CHECK(one_line("\x1e" + marks + "\x1f") == sign + marks + sign);
    const InvalidInput error("The unit is \"\x1b[2J\n\xFF\".");
    CHECK(error.what() == "The unit is \"" + sign + "[2J " + sign + "\".");
    CHECK(error.told() == error.what());
}

TEST_CASE("text without marks comes back as it is; pieces keep the value to the last bit") {
    CHECK(rendered("") == "");
    CHECK(rendered("no figure here, 100 %") == "no figure here, 100 %");
    const double value = 0.1 + 0.2;
    const auto pieces = told_pieces("a " + told(value, Kind::mass, 2, Telling::single) + " b");
    REQUIRE(pieces.size() == 3);
    CHECK(pieces[0].text == "a ");
    CHECK(pieces[1].is == ToldPiece::Is::quantity);
    CHECK(pieces[1].value == value);
    CHECK(pieces[1].kind == Kind::mass);
    CHECK(pieces[1].digits == 2);
    CHECK(pieces[1].telling == Telling::single);
    CHECK(pieces[2].text == " b");
}

TEST_CASE("places and settings are worded for those who read them") {
    const std::string sentence =
        "Thin at " + told_place(25.4, -0.001, 50.8) + "; give " + setting("mold-holds") + ".";
    CHECK(rendered(sentence) == "Thin at x 25.4, y 0.0, z 50.8 mm; give --mold-holds.");
    CHECK(rendered(sentence, UnitSystem::us, Settings::members) ==
          "Thin at x 1.00, y 0.00, z 2.00 in; give mold_holds.");
    const auto pieces = told_pieces(sentence);
    REQUIRE(pieces.size() == 5);
    CHECK(pieces[1].is == ToldPiece::Is::place);
    CHECK(pieces[1].place_mm == std::array<double, 3>{25.4, -0.001, 50.8});
    CHECK(pieces[3].is == ToldPiece::Is::setting);
    CHECK(pieces[3].text == "mold-holds");
    for (const std::string text :
         {"\x1e-\x1f", "\x1e-Up\x1f", "\x1e@1:2\x1f", "\x1e@1:2:nan\x1f", "\x1e@1:2:3:4\x1f"}) {
        CHECK(rendered(text) == text);
    }
}

TEST_CASE("an error reads well for the library and can be told to others") {
    const InvalidInput error("Too long, " + told(25.4, Kind::length) + "; give " +
                             setting("pour-hole-width") + ".");
    CHECK(std::string(error.what()) == "Too long, 25.4 mm (1.00 in); give pour_hole_width.");
    CHECK(rendered(error.told(), UnitSystem::us) ==
          "Too long, 1.00 in (25.4 mm); give --pour-hole-width.");
}
