// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/card.h"

#include <cstdlib>
#include <unistd.h>

#include <fmt/core.h>

#include "cavigram/core/atomic_file.h"
#include "cavigram/core/error.h"
#include "cavigram/foam/mix_choice.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

std::string card_text(const std::string& more = "") {
    return "name = \"ours\"\nmix = \"50:100\"\n[density]\nvalue = \"9 lb/ft3\"\nbasis = "
           "\"molded\"\n"
           "[skin]\nthickness = \"1.5 mm\"\ndensity = \"25 lb/ft3\"\n" +
           more;
}

std::string refusal(const std::string& text) {
    return refusal_of([&] { return parse_card(text, "my.toml"); });
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
    return text.replace(text.find(from), from.size(), to);
}

}  // namespace

TEST_CASE("T1, T2: the generic cards say what is common practice, and that they are typical") {
    const FoamCard firm = load_card("generic-firm");
    CHECK(firm.mix.a / firm.mix.b == 0.5);
    CHECK_NEAR(firm.density_kg_m3.value, 128.147707, 1e-8);
    const FoamCard soft = load_card("generic-soft");
    CHECK(soft.mix.a / soft.mix.b == 0.3);
    CHECK_NEAR(soft.density_kg_m3.value, 208.240024, 1e-8);
    for (const FoamCard& card : {firm, soft}) {
        CHECK(card.typical);
        CHECK(card.basis == DensityBasis::free_rise);
        CHECK(card.work_time_s == 30.0);
        CHECK(card.demold_min_s == 1800.0);
        CHECK(card.demold_max_s == 2700.0);
        CHECK(card.family == firm.family);
        CHECK(card.packing.value == 1.15);
        CHECK(card.packing.low == 1.05);
        CHECK(card.packing.high == 1.3);
        CHECK_FALSE(card.skin_thickness_mm);  // nobody measured it: it follows from the packing
        CHECK(card.density_air_kpa == kAtmosphere_kpa);
    }
}

TEST_CASE("a card may state its packing, and where its density was measured") {
    const FoamCard card =
        parse_card(replaced(card_text("[packing]\nvalue = 1.3\nhigh = 1.5\n"), "basis = \"molded\"",
                            "basis = \"free_rise\"\naltitude = \"1600 m\""),
                   "x");
    CHECK(card.packing.value == 1.3);
    CHECK(card.packing.low == 1.3);
    CHECK(card.packing.high == 1.5);
    CHECK_NEAR(card.density_air_kpa, air_pressure_kpa(1600), 1e-12);
    // ISO 2533 tabulates 89.875 kPa at 1,000 m: the height or the pressure, and not both.
    const auto measured_in = [](const std::string& air) {
        return replaced(card_text(), "basis = \"molded\"", "basis = \"free_rise\"\n" + air);
    };
    const FoamCard by_pressure = parse_card(measured_in("air_pressure = \"89.875 kPa\""), "x");
    CHECK_NEAR(by_pressure.density_air_kpa, 89.875, 1e-12);
    CHECK_NEAR(parse_card(measured_in("altitude = \"1000 m\""), "x").density_air_kpa,
               by_pressure.density_air_kpa, 1e-4);
    CHECK(refusal(measured_in("altitude = \"1 km\"\nair_pressure = \"89.875 kPa\""))
              .find("density.altitude in my.toml and density.air_pressure say the same") == 0);
    CHECK(refusal(measured_in("air_pressure = \"89.875 Pa\"")).find("density.air_pressure") == 0);
    // Without a thickness the skin is derived; its bounds alone say nothing.
    const std::string none = replaced(card_text(), "thickness = \"1.5 mm\"\n", "");
    CHECK_FALSE(parse_card(none, "x").skin_thickness_mm);
    CHECK(refusal(replaced(card_text(), "thickness =", "thickness_low ="))
              .find("goes with skin.thickness") != std::string::npos);
    CHECK(refusal(card_text("[packing]\nvalue = 0.9\n")).find("packing.value") == 0);
    CHECK(refusal(card_text("[packing]\nvalue = 1.4\nlow = 1.5\n")).find("its own low and high") !=
          std::string::npos);
    CHECK(refusal(replaced(card_text(), "basis = \"molded\"", "altitude = \"20 km\"")) !=
          "accepted");
}

TEST_CASE("T7: 75 g fills a hand-tool-sized prop") {
    // A rod of 44.58 mm by 375 mm at 8 lb/ft3: common practice, no source.
    const double volume_ml = 3.14159265 / 4 * 4.458 * 4.458 * 37.5;
    CHECK_NEAR(volume_ml * load_card("generic-firm").density_kg_m3.value / 1000, 75.0, 1e-3);
}

TEST_CASE("a card of the shop's own: bounds and defaults") {
    const FoamCard card = parse_card(card_text(), "my.toml");
    CHECK(card.basis == DensityBasis::molded);
    CHECK_NEAR(card.density_kg_m3.value, 144.16617, 1e-7);
    CHECK_NEAR(card.density_kg_m3.high / card.density_kg_m3.value, 1.1, 1e-12);
    REQUIRE(card.skin_thickness_mm);  // stated: taken as measured
    CHECK(card.skin_thickness_mm->low == 1.0);
    CHECK(card.packing.value == 1.15);
    CHECK_FALSE(card.typical);
    CHECK(card.family == "ours");
    const FoamCard bounded =
        parse_card(replaced(card_text(), "density = \"25 lb/ft3\"",
                            "density = \"25 lb/ft3\"\ndensity_low = \"20 lb/ft3\""),
                   "x");
    CHECK_NEAR(bounded.skin_density_kg_m3.low, 20 * 16.018463374, 1e-9);
}

TEST_CASE("two measured work times give the card's own rule; activation energy likewise") {
    const FoamCard card = parse_card(
        card_text("[time]\nwork = \"30 s\"\nat = \"23 C\"\nwork_2 = \"48 s\"\nat_2 = \"15 C\"\n"),
        "x");
    CHECK_NEAR(time_at_temperature_s(card.work_time_s, card.at_c, 15, card.rule), 48.0, 1e-12);
    CHECK(parse_card(card_text("[time]\nactivation_kj_mol = 52.9\n"), "x").rule.activation_kj_mol ==
          52.9);
    CHECK(refusal(card_text("[time]\nwork_2 = \"48 s\"\n"))
              .find("time.work_2 in my.toml goes with time.at_2") == 0);
    CHECK(refusal(card_text("[time]\nwork_2 = \"20 s\"\nat_2 = \"15 C\"\n"))
              .find("warmer must be faster") != std::string::npos);
    CHECK(refusal(card_text("[time]\nactivation_kj_mol = \"52.9\"\n")).find("without quotes") !=
          std::string::npos);
}

TEST_CASE("N1, N3: the index only from the liquids' own figures, and in proportion to A") {
    CHECK_FALSE(parse_card(card_text(), "x").index);
    const std::string liquids =
        "[index]\nnco_percent = 23\nhydroxyl_number = 56.1\nwater_percent = 0.6\n";
    const FoamCard firm = parse_card(card_text(liquids), "x");
    // 99.4/1000 + 0.6/9.0075 equivalents in 100 of B; A has 4202/23 g for each.
    CHECK_NEAR(*firm.index, 100 * 50 / ((0.0994 + 0.6 / 9.0075) * 4202 / 23), 1e-12);
    FoamCard soft = parse_card(replaced(card_text(liquids), "50:100", "30:100"), "x");
    CHECK_NEAR(*soft.index / *firm.index, 0.6, 1e-12);
    soft.family = firm.family;
    CHECK_NEAR(*card_at_mix(firm, {firm, soft}, {40, 100}).index / *firm.index, 0.8, 1e-12);
    CHECK(
        refusal(card_text("[index]\nnco_percent = 23\n")).find("goes with index.hydroxyl_number") !=
        std::string::npos);
}

TEST_CASE("kits: both sides or neither") {
    const FoamCard card = parse_card(
        card_text("[kit]\na = \"1 kg\"\nb = \"2 kg\"\nprice = 89.5\ncurrency = \"EUR\"\n"), "x");
    CHECK(card.kit_a_g == 1000.0);
    CHECK(card.kit_price == 89.5);
    CHECK(refusal(card_text("[kit]\na = \"1 kg\"\n")).find("kit.a in my.toml goes with kit.b") ==
          0);
    CHECK(refusal(card_text("[kit]\na = \"1 l\"\nb = \"1 kg\"\n")).find("which is a volume") !=
          std::string::npos);
}

TEST_CASE("a person's own cards come by name, before the built-in ones") {
    const auto folder =
        std::filesystem::temp_directory_path() / fmt::format("cavigram_cards_{}", getpid());
    make_folder(folder / "cavigram" / "foams");
    write_file(folder / "cavigram" / "foams" / "ours.toml", card_text());
    write_file(folder / "cavigram" / "foams" / "generic-firm.toml",
               replaced(card_text(), "ours", "generic-firm"));
    setenv("XDG_CONFIG_HOME", folder.c_str(), 1);
    CHECK(own_card_names() == std::vector<std::string>{"generic-firm", "ours"});
    CHECK(load_card("ours").name == "ours");
    CHECK_FALSE(load_card("generic-firm").typical);
    CHECK(load_card("generic-soft").typical);
    CHECK_THROWS_WITH_AS(static_cast<void>(load_card("our")),
                         doctest::Contains("did you mean ours?"), InvalidInput);
    unsetenv("XDG_CONFIG_HOME");
    std::filesystem::remove_all(folder);
}

TEST_CASE("a wrong card is refused in one sentence that names the file and the key") {
    CHECK(refusal("name = ").find("my.toml is no valid TOML at line 1") == 0);
    CHECK(refusal("") == refusal("# nothing\n"));
    CHECK(refusal(card_text("thicknes_low = \"1 mm\"\n"))
              .find("skin.thicknes_low in my.toml is no key of a foam card; did you mean "
                    "skin.thickness_low?") == 0);
    CHECK(refusal(card_text("[tme]\nwork = \"30 s\"\n")).find("tme.work in my.toml") == 0);
    CHECK(refusal(replaced(card_text(), "\"9 lb/ft3\"", "9"))
              .find("density.value in my.toml must be text") == 0);
    CHECK(refusal(replaced(card_text(), "9 lb/ft3", "9 psi")).find("which is a pressure") !=
          std::string::npos);
    CHECK(refusal(replaced(card_text(), "9 lb/ft3", "9000 lb/ft3"))
              .find("outside what makes sense") != std::string::npos);
    CHECK(refusal(replaced(card_text(), "\"molded\"", "\"moulded\""))
              .find("give molded, core or free_rise") != std::string::npos);
    CHECK(refusal(card_text("thickness_low = \"2 mm\"\n")).find("does not lie between") !=
          std::string::npos);
    CHECK(refusal(replaced(card_text(), "name = \"ours\"\n", ""))
              .find("name in my.toml is missing") == 0);
    CHECK(refusal(card_text("[time]\ndemold_min = \"60 min\"\n")).find("demold_min") !=
          std::string::npos);
    // Clocks that would have a person pour too late.
    CHECK(refusal(card_text("[time]\nwork = \"90 s\"\nrise = \"1 min\"\n"))
              .find("time.rise in my.toml is 60.0 s and time.work 90.0 s") == 0);
    CHECK(refusal(card_text("[time]\ndemold_min = \"45 min\"\ndemold_max = \"30 min\"\n"))
              .find("time.demold_min in my.toml is later than time.demold_max") == 0);
    CHECK_THROWS_AS(static_cast<void>(load_card("generic-frim")), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(load_card("./no-such-card.toml")), UnusableInput);
}
