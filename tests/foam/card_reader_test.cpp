// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/card_reader.h"

#include <string>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

const CardKind kKind{"tea card", "teas show black"};

}  // namespace

TEST_CASE("each kind of value is read, or refused by its key and origin") {
    CardReader reader(
        "name = \"x\"\ntypical = true\nparts = 3\n[cup]\nmass = \"2 oz\"\nhigh = \"80 g\"\n",
        "my.toml", kKind);
    CHECK(reader.required("name") == "x");
    CHECK(reader.text("note", "none") == "none");
    CHECK(reader.flag("typical"));
    CHECK_FALSE(reader.flag("green"));
    CHECK(reader.number("parts", 1.0, 5.0) == 3.0);
    CHECK_FALSE(reader.number("more", 1.0, 5.0));
    // docs/checks.md U4: an ounce is 28.349523125 g.
    CHECK_NEAR(reader.quantity("cup.mass", Kind::mass, 0.0, 100.0, 7.0), 56.69904625, 1e-12);
    CHECK(reader.quantity("cup.rest", Kind::mass, 0.0, 100.0, 7.0) == 7.0);
    const Ranged range = reader.ranged("cup.mass", "cup.", Kind::mass, 0.0, 100.0, 2.0);
    CHECK_NEAR(range.low, 28.349523125, 1e-12);
    CHECK(range.high == 80.0);
    CHECK_NOTHROW(reader.refuse_unknown());
    CHECK(refusal_of([&] { static_cast<void>(reader.number("parts", 4.0, 5.0)); }) ==
          "parts in my.toml must be a number from 4 to 5, without quotes.");
    CHECK(refusal_of([&] { static_cast<void>(reader.flag("name")); }) ==
          "name in my.toml must be true or false, without quotes.");
    CHECK(refusal_of([&] { static_cast<void>(reader.required("taste")); }) ==
          "taste in my.toml is missing; add it from your supplier's sheet (\"teas show black\" "
          "prints "
          "a whole card).");
}

TEST_CASE("what no one asked for is refused with the nearest key, and broken text with its line") {
    CardReader reader("[cup]\nmas = \"2 oz\"\n", "my.toml", kKind);
    static_cast<void>(reader.text("cup.mass", ""));
    CHECK(refusal_of([&] { reader.refuse_unknown(); }) ==
          "cup.mas in my.toml is no key of a tea card; did you mean cup.mass?; correct or remove "
          "it.");
    const std::string broken =
        refusal_of([] { const CardReader r("a = 1\nb =\n", "my.toml", kKind); });
    CHECK(broken.rfind("my.toml is no valid TOML at line 2", 0) == 0);
}
