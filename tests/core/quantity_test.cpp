// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/core/quantity.h"

#include <cmath>
#include <string>

#include <fmt/core.h>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

double read(const char* text, Kind kind) {
    return parse_quantity(text, kind, "--it");
}

std::string refusal(const char* text, Kind kind) {
    return refusal_of([&] { return read(text, kind); });
}

}  // namespace

TEST_CASE("U1-U10: units by their exact definitions (NIST SP 811, 2008, B.8)") {
    CHECK_NEAR(read("1 lb/ft3", Kind::density), 16.018463374, 1e-10);      // U1
    CHECK_NEAR(read("8 lb/ft³", Kind::density), 128.147707, 1e-8);         // U2
    CHECK_NEAR(read("13lb/ft^3", Kind::density), 208.240024, 1e-8);        // U2
    CHECK_NEAR(100.0 / read("1lb/ft3", Kind::density), 6.24279606, 1e-9);  // U3
    CHECK_NEAR(read("1 oz", Kind::mass), 28.349523125, 1e-15);             // U4
    CHECK_NEAR(read("1 gal", Kind::volume), 3.785411784e6, 1e-12);         // U5
    CHECK_NEAR(read("1 fl oz", Kind::volume), 29573.5295625, 1e-12);       // U5
    CHECK_NEAR(read("1 imp fl. oz", Kind::volume), 28413.0625, 1e-12);     // U5
    CHECK_NEAR(read("1in3", Kind::volume), 16387.064, 1e-12);              // U6
    CHECK_NEAR(read("1 ft3", Kind::volume), 28.316846592e6, 1e-12);        // U6
    CHECK_NEAR(read("1 ft²", Kind::area), 92903.04, 1e-12);                // U6
    CHECK_NEAR(read("1 psi", Kind::pressure), 6.894757293, 1e-9);          // U7
    // U7: a pound-force is a psi on a square inch; 1 kPa on 1 mm2 is 1e-3 N.
    CHECK_NEAR(read("1 psi", Kind::pressure) * read("1 in2", Kind::area) * 1e-3, 4.448221615, 1e-9);
    CHECK_NEAR(read("1 oz/in3", Kind::density), 1729.99404, 1e-8);  // U8
    CHECK_NEAR(read("1 oz/gal", Kind::density), 7.48915171, 1e-8);  // U8
    CHECK_NEAR(read("1 inH2O", Kind::pressure), 0.2490889, 1e-9);   // U9, from memory
    CHECK_NEAR(read("75 °F", Kind::temperature), 23.888889, 1e-8);  // U10
    CHECK_NEAR(read("18F", Kind::temperature) - read("0F", Kind::temperature), 10.0, 1e-9);  // U10
    CHECK_NEAR(read("0.128 g/cm3", Kind::density), 128.0, 1e-15);
    CHECK_NEAR(read("1.2g/ml", Kind::density), 1200.0, 1e-15);
    CHECK_NEAR(read("40 g/m2", Kind::areal_density), 40.0, 1e-15);
    CHECK_NEAR(read("14\"", Kind::length), 355.6, 1e-15);
    CHECK_NEAR(read("1000 mPas", Kind::viscosity), 1.0, 1e-15);
    CHECK(read("10%", Kind::share) == 0.1);
    CHECK(read("0.1", Kind::share) == 0.1);
    CHECK(read("30 min", Kind::time) == 1800.0);
    CHECK(read("-40F", Kind::temperature) == read("-40C", Kind::temperature));
    CHECK(read("+3e2 mm", Kind::length) == 300.0);
}

TEST_CASE("units as people write them, each by its definition") {
    CHECK_NEAR(read("8 pcf", Kind::density), 128.147707, 1e-8);       // U2
    CHECK_NEAR(read("8 lb/cu ft", Kind::density), 128.147707, 1e-8);  // U2
    CHECK_NEAR(read("8 lbs/cu. ft.", Kind::density), 128.147707, 1e-8);
    CHECK_NEAR(read("1 cu in", Kind::volume), 16387.064, 1e-12);         // U6
    CHECK_NEAR(read("1 cu. ft.", Kind::volume), 28.316846592e6, 1e-12);  // U6
    CHECK_NEAR(read("2 lbs", Kind::mass), 907.18474, 1e-12);             // the pound, by definition
    CHECK_NEAR(read("1 ounce", Kind::mass), 28.349523125, 1e-15);        // U4
    CHECK_NEAR(read("3 inches", Kind::length), 76.2, 1e-15);
    CHECK(read("12 MM", Kind::length) == 12.0);
    CHECK_NEAR(read("2 feet", Kind::length), 609.6, 1e-15);
}

TEST_CASE("fractions as a ruler in inches has them: a sixteenth is 1.5875 mm") {
    CHECK(read("1/16in", Kind::length) == 1.5875);
    CHECK(read("-1/16in", Kind::length) == -1.5875);
    CHECK_NEAR(read("1 1/2 in", Kind::length), 38.1, 1e-15);
    CHECK_NEAR(read("1-1/2\"", Kind::length), 38.1, 1e-15);
    CHECK_NEAR(read("-1 1/2in", Kind::length), -38.1, 1e-15);
    CHECK(read("1/2 lb/ft3", Kind::density) == 0.5 * read("1lb/ft3", Kind::density));
    for (const char* text : {"1/in", "/16in", "1/0in", "1 1/2", "1//2in", "1/2/3in"}) {
        INFO(text);
        CHECK(refusal(text, Kind::length).find("a length, such as") != std::string::npos);
    }
}

TEST_CASE("the trap: an ounce is a mass, and never a volume") {
    CHECK(refusal("8 oz", Kind::volume).find("fluid ounce") != std::string::npos);
    CHECK(refusal("8 fl oz", Kind::mass).find("which is a volume") != std::string::npos);
}

TEST_CASE("what can't be read is refused in one sentence that names it and says what to give") {
    for (const char* text :
         {"", "eight", "8", "8 psi", "8 lb", "8 lb/ft", "8 lb/ft2", "8 furlongs", "nan mm",
          "inf mm", "1e999 mm", "8,5 lb/ft3", "8 /ft3", "8 lb/", "--8lb/ft3"}) {
        INFO(text);
        const std::string sentence = refusal(text, Kind::density);
        CHECK(sentence.find("--it is \"") == 0);
        CHECK(sentence.find("a density, such as 8lb/ft3") != std::string::npos);
    }
    CHECK_THROWS_AS(static_cast<void>(parse_quantity("0 mm", Kind::length, "--it", 1, 10)),
                    InvalidInput);
    CHECK(parse_quantity("10 mm", Kind::length, "--it", 1, 10) == 10.0);
}

TEST_CASE("a number that its unit carries beyond all numbers is refused") {
    for (const char* text : {"1e308 m2", "-1e308m2"}) {
        CAPTURE(text);
        CHECK_THROWS_AS(static_cast<void>(parse_quantity(text, Kind::area, "area")), InvalidInput);
    }
    CHECK(parse_quantity("1e300 m2", Kind::area, "area") == 1e306);
}

TEST_CASE("what a refusal gives as an example is read, and both examples are about the same") {
    for (const Kind kind : {Kind::length, Kind::area, Kind::volume, Kind::mass, Kind::density,
                            Kind::areal_density, Kind::temperature, Kind::time, Kind::pressure,
                            Kind::viscosity, Kind::angle, Kind::share}) {
        const std::string sentence = refusal("about", kind);
        INFO(sentence);
        const std::string begin = std::string("give ") + to_text(kind) + ", such as ";
        const std::size_t at = sentence.find(begin);
        REQUIRE(at != std::string::npos);
        const std::string example =
            sentence.substr(at + begin.size(), sentence.size() - at - begin.size() - 1);
        CHECK(example == example_of(kind));
        const std::size_t other = example.find(" or ");
        const double value = read(example.substr(0, other).c_str(), kind);
        CHECK(value > 0.0);
        if (other != std::string::npos) {
            const double second = read(example.substr(other + 4).c_str(), kind);
            // Two systems' round numbers; seconds and minutes are two examples.
            CHECK((kind == Kind::time ? second / value == 40.0
                                      : std::abs(second / value - 1.0) < 0.06));
        }
    }
}

TEST_CASE("x to the held unit and back is x") {
    for (const double x : {0.1, 8.0, 13.7, 1e6}) {
        const double factor = read("1 lb/ft3", Kind::density);
        CHECK_NEAR(read(fmt::format("{:.17g} lb/ft3", x).c_str(), Kind::density) / factor, x,
                   1e-14);
    }
}

TEST_CASE("mix ratios") {
    const MixRatio mix = parse_mix_ratio(" 50 : 100", "--mix");
    CHECK(mix.a == 50.0);
    CHECK(mix.b == 100.0);
    for (const char* text : {"50", "50:", ":100", "0:100", "-5:100", "50:100:3", "a:b", "inf:1"}) {
        CHECK_THROWS_AS(static_cast<void>(parse_mix_ratio(text, "--mix")), InvalidInput);
    }
}
