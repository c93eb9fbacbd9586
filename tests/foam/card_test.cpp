// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/card.h"

#include "cavigram/core/error.h"
#include "support/near.h"

using namespace cavigram;

namespace {

std::string card_text(const std::string& more = "") {
    return "name = \"ours\"\nmix = \"50:100\"\n[density]\nvalue = \"9 lb/ft3\"\nbasis = \"molded\"\n"
           "[skin]\nthickness = \"1.5 mm\"\ndensity = \"25 lb/ft3\"\n" + more;
}

std::string refusal(const std::string& text) {
    try {
        static_cast<void>(parse_card(text, "my.toml"));
    } catch (const InvalidInput& error) {
        return error.what();
    }
    return "accepted";
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
    }
}

TEST_CASE("T1: between two mixes of one foam, by specific volume; outside, refused") {
    const FoamCard firm = load_card("generic-firm");
    const FoamCard soft = load_card("generic-soft");
    const std::vector<FoamCard> family = {firm, soft};
    const FoamCard middle = card_at_mix(firm, family, {40, 100});
    CHECK_NEAR(middle.density_kg_m3.value, 158.659, 2e-6);  // checks.md T1, in 1/density
    CHECK(middle.typical);
    CHECK_NEAR(card_at_mix(soft, family, {40, 100}).density_kg_m3.value, middle.density_kg_m3.value, 1e-12);
    CHECK(card_at_mix(firm, family, {1, 2}).name == "generic-firm");
    CHECK_THROWS_AS(static_cast<void>(card_at_mix(firm, family, {60, 100})), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(card_at_mix(firm, {firm}, {40, 100})), InvalidInput);
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
    CHECK(card.skin_thickness_mm.low == 1.0);
    CHECK_FALSE(card.typical);
    CHECK(card.family == "ours");
    const FoamCard bounded = parse_card(replaced(card_text(), "density = \"25 lb/ft3\"", "density = \"25 lb/ft3\"\ndensity_low = \"20 lb/ft3\""), "x");
    CHECK_NEAR(bounded.skin_density_kg_m3.low, 20 * 16.018463374, 1e-9);
}

TEST_CASE("a wrong card is refused in one sentence that names the file and the key") {
    CHECK(refusal("name = ").find("my.toml is no valid TOML at line 1") == 0);
    CHECK(refusal("") == refusal("# nothing\n"));
    CHECK(refusal(card_text("thicknes_low = \"1 mm\"\n")).find("skin.thicknes_low in my.toml is no key of a foam card; did you mean "
                                                                "skin.thickness_low?") == 0);
    CHECK(refusal(card_text("[tme]\nwork = \"30 s\"\n")).find("tme.work in my.toml") == 0);
    CHECK(refusal(replaced(card_text(), "\"9 lb/ft3\"", "9")).find("density.value in my.toml must be text") == 0);
    CHECK(refusal(replaced(card_text(), "9 lb/ft3", "9 psi")).find("which is a pressure") != std::string::npos);
    CHECK(refusal(replaced(card_text(), "9 lb/ft3", "9000 lb/ft3")).find("outside what makes sense") != std::string::npos);
    CHECK(refusal(replaced(card_text(), "\"molded\"", "\"moulded\"")).find("give molded, core or free_rise") != std::string::npos);
    CHECK(refusal(card_text("thickness_low = \"2 mm\"\n")).find("does not lie between") != std::string::npos);
    CHECK(refusal(replaced(card_text(), "name = \"ours\"\n", "")).find("name in my.toml is missing") == 0);
    CHECK(refusal(card_text("[time]\ndemold_min = \"60 min\"\n")).find("demold_min") != std::string::npos);
    CHECK_THROWS_AS(static_cast<void>(load_card("generic-frim")), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(load_card("./no-such-card.toml")), UnusableInput);
}
