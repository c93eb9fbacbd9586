// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/rubber_card.h"

#include <cstdlib>
#include <filesystem>
#include <fstream>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

TEST_CASE(
    "the cards that come with the program are marked as typical and lie in the trade's ranges") {
    // Silicone for molds: 1.05 to 1.30 g/cm3, elongation 200 to 600 %, Shore A 10 to 40, shrinkage
    // under 0.1 % to 1 % (common practice, no source).
    REQUIRE(built_in_rubbers().size() == 2);
    for (const BuiltInRubber& built_in : built_in_rubbers()) {
        CAPTURE(built_in.name);
        const RubberCard card = load_rubber_card(built_in.name);
        CHECK(card.name == built_in.name);
        CHECK(card.typical);
        CHECK(card.source.find("typical") != std::string::npos);
        CHECK(card.density_kg_m3 >= 1050.0);
        CHECK(card.density_kg_m3 <= 1300.0);
        CHECK(card.elongation_share >= 2.0);
        CHECK(card.elongation_share <= 6.0);
        CHECK(card.hardness_shore_a >= 10.0);
        CHECK(card.hardness_shore_a <= 40.0);
        CHECK(card.shrinkage_share.low <= card.shrinkage_share.value);
        CHECK(card.shrinkage_share.high <= 0.01);
        CHECK(card.coat_mm > 0.0);
    }
    CHECK(load_rubber_card("generic-silicone-soft").hardness_shore_a <
          load_rubber_card("generic-silicone-firm").hardness_shore_a);
}

TEST_CASE("a card of one's own: what it gives, what is left to the usual, what is refused") {
    const std::string least = "name = \"x\"\nmix = \"10:1\"\ndensity = \"9.6 lb/gal\"\n";
    const auto refused = [](const std::string& text) {
        return refusal_of([&] { static_cast<void>(parse_rubber_card(text, "my.toml")); });
    };
    const std::string metric = "name = \"x\"\nmix = \"10:1\"\ndensity = \"1.15 g/cm3\"\n";
    const RubberCard card = parse_rubber_card(metric + "[work]\ncoat = \"1/16 in\"\n", "my.toml");
    CHECK(card.mix.a == 10.0);
    CHECK(card.shrinkage_share.high == 0.0);
    CHECK_NEAR(card.coat_mm, 1.5875, 1e-12);  // an inch is 25.4 mm
    CHECK_FALSE(card.typical);
    const RubberCard shrinks =
        parse_rubber_card(metric + "[cured]\nshrinkage = \"0.3%\"\n", "my.toml");
    CHECK_NEAR(shrinks.shrinkage_share.low, 0.0015, 1e-12);
    CHECK_NEAR(shrinks.shrinkage_share.high, 0.006, 1e-12);
    CHECK(refused("name = \"x\"\nmix = \"10:1\"\n").find("density in my.toml is missing") == 0);
    CHECK(refused(metric + "densty = \"1\"\n").find("did you mean density?") != std::string::npos);
    CHECK(refused(metric + "[cured]\nelongation_percent = \"400\"\n").find("without quotes") !=
          std::string::npos);
    // docs/checks.md U5: a US gallon is 3785.411784 mL.
    CHECK_NEAR(parse_rubber_card(least, "my.toml").density_kg_m3,
               9.6 * 453.59237 / 3785.411784 * 1000.0, 1e-9);
}

TEST_CASE("cards are found by name or path") {
    CHECK(refusal_of([] {
              static_cast<void>(load_rubber_card("generic-silicone-sof"));
          }).find("did you mean generic-silicone-soft?") != std::string::npos);
    CHECK(refusal_of<UnusableInput>([] { static_cast<void>(load_rubber_card("no/such.toml")); }) ==
          "Can't read the rubber card no/such.toml; check the path.");
    const std::filesystem::path path =
        std::filesystem::temp_directory_path() / "cavigram_rubber_card_test.toml";
    std::ofstream(path) << "name = \"own\"\nmix = \"1:1\"\ndensity = \"1.1 g/cm3\"\n";
    CHECK(load_rubber_card(path.string()).name == "own");
    std::filesystem::remove(path);
}
