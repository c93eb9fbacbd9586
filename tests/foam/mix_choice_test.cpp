// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/mix_choice.h"

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

constexpr double kLbFt3 = 16.018463374;  // kg/m3, checks.md U1

std::vector<FoamCard> generic() {
    return {load_card("generic-firm"), load_card("generic-soft")};
}

double parts(const MixChoice& choice) {
    return 100.0 * choice.card.mix.a / choice.card.mix.b;
}

}  // namespace

TEST_CASE("FM1: the mix for a free-rise density (foam_model.md 1)") {
    const std::vector<FoamCard> family = generic();
    const auto of = [&](double lb_ft3) {
        return mix_for_free_rise(family[0], family, lb_ft3 * kLbFt3);
    };
    CHECK_NEAR(parts(of(9)), 398.0 / 9, 1e-8);  // 44.222 222
    CHECK_NEAR(parts(of(10)), 39.6, 1e-8);
    CHECK_NEAR(parts(of(11)), 394.0 / 11, 1e-8);  // 35.818 182
    CHECK_NEAR(parts(of(12)), 98.0 / 3, 1e-8);    // 32.666 667
    CHECK_NEAR(of(10).card.density_kg_m3.value, 10 * kLbFt3, 1e-8);
    CHECK_FALSE(of(10).clamped);
}

TEST_CASE("FM2: the mix for a finished density at the card's packing") {
    const std::vector<FoamCard> family = generic();
    CHECK(family[0].packing.value == 1.15);
    const auto of = [&](double lb_ft3) {
        return mix_for_free_rise(family[0], family, lb_ft3 * kLbFt3 / family[0].packing.value);
    };
    CHECK_NEAR(parts(of(9.2)), 50.0, 1e-8);
    CHECK_NEAR(parts(of(10)), 45.84, 1e-8);
    CHECK_NEAR(parts(of(12)), 568.0 / 15, 1e-8);  // 37.866 667
    CHECK_NEAR(parts(of(14.95)), 30.0, 1e-8);
}

TEST_CASE("FM3: never beyond the family's ends") {
    const std::vector<FoamCard> family = generic();
    const MixChoice light = mix_for_free_rise(family[1], family, 8 * kLbFt3 / 1.15);
    CHECK(light.clamped);
    CHECK(light.card.name == "generic-firm");
    const MixChoice dense = mix_for_free_rise(family[0], family, 20 * kLbFt3);
    CHECK(dense.clamped);
    CHECK(dense.card.name == "generic-soft");
    // A family of one has nothing to choose.
    CHECK(mix_for_free_rise(family[0], {family[0]}, 9 * kLbFt3).clamped);
    CHECK_FALSE(mix_for_free_rise(family[0], {family[0]}, 8 * kLbFt3).clamped);
}

TEST_CASE("T1: between two mixes of one foam, by specific volume; outside, refused") {
    const std::vector<FoamCard> family = generic();
    const FoamCard& firm = family[0];
    const FoamCard middle = card_at_mix(firm, family, {40, 100});
    CHECK_NEAR(middle.density_kg_m3.value, 158.659, 2e-6);  // checks.md T1, in 1/density
    CHECK(middle.typical);
    CHECK_NEAR(card_at_mix(family[1], family, {40, 100}).density_kg_m3.value,
               middle.density_kg_m3.value, 1e-12);
    CHECK(card_at_mix(firm, family, {1, 2}).name == "generic-firm");
    CHECK_THROWS_WITH_AS(static_cast<void>(card_at_mix(firm, family, {60, 100})),
                         doctest::Contains("lies outside what is known"), InvalidInput);
    CHECK_THROWS_AS(static_cast<void>(card_at_mix(firm, {firm}, {40, 100})), InvalidInput);
    // B before A: what was meant, and what is known.
    CHECK_THROWS_WITH_AS(static_cast<void>(card_at_mix(firm, family, {100, 40})),
                         doctest::Contains("did you mean 40:100? Known of"), InvalidInput);
}

TEST_CASE("cards that state molded densities at other packings: the mix rises to what was wanted") {
    std::vector<FoamCard> family = generic();
    family[0].packing = {1.1, 1.1, 1.1};
    family[1].packing = {1.3, 1.3, 1.3};
    for (FoamCard& card : family) {
        card.basis = DensityBasis::molded;
        const double p = card.packing.value;
        card.density_kg_m3 = {p * card.density_kg_m3.value, p * card.density_kg_m3.low,
                              p * card.density_kg_m3.high};
    }
    // docs/checks.md FM1: the gas sets the free rise, whatever the cards' packings.
    const MixChoice mix = mix_for_free_rise(family[0], family, 10 * kLbFt3);
    CHECK_NEAR(parts(mix), 39.6, 1e-8);
    CHECK_NEAR(free_rise_kg_m3(mix.card).value, 10 * kLbFt3, 1e-10);
}

TEST_CASE("of three mixes the two nearest count, whichever card was named") {
    std::vector<FoamCard> family = generic();
    FoamCard middle = family[0];
    middle.name = "middle";
    middle.mix = {40, 100};
    middle.density_kg_m3 = {150, 140, 160};
    family.push_back(middle);
    for (const FoamCard& named : family) {
        const FoamCard at = card_at_mix(named, family, {45, 100});
        CHECK_NEAR(1 / at.density_kg_m3.value, 0.5 / 150 + 0.5 / family[0].density_kg_m3.value,
                   1e-12);
    }
    // Another foam, or a density of another kind, is no mix of this one.
    family[1].family = "something else";
    family[2].basis = DensityBasis::molded;
    CHECK(mixes_of(family[0], family).size() == 1);
}

TEST_CASE("times of two cards are brought to one temperature before they are blended") {
    std::vector<FoamCard> family = generic();
    // 30 s at 23 C is 60 s at 13 C by the rule of thumb: the same clock, measured in a colder room.
    family[1].at_c = 13;
    family[1].work_time_s = 60;
    family[1].rise_time_s = 240;
    family[1].demold_min_s = 3600;
    family[1].demold_max_s = 5400;
    const FoamCard at = card_at_mix(family[0], family, {40, 100});
    CHECK_NEAR(at.work_time_s, 30, 1e-12);
    CHECK_NEAR(at.rise_time_s, 120, 1e-12);
    CHECK_NEAR(at.demold_min_s, 1800, 1e-12);
    CHECK(at.at_c == 23);
    family[1].at_c = 2;  // too far away to be carried over
    CHECK_THROWS_AS(static_cast<void>(card_at_mix(family[0], family, {40, 100})), InvalidInput);
}

// The same foam rises lighter in thinner air (docs/checks.md FM9), so that a mix between would be
// of neither.
TEST_CASE("two cards whose densities were measured in different air are not blended") {
    std::vector<FoamCard> family = generic();
    family[1].density_air_kpa = 0.8 * kAtmosphere_kpa;
    const std::string sentence = refusal_of([&] {
        return card_at_mix(family[0], family, {40, 100});
    });
    CHECK(sentence.find("generic-firm") != std::string::npos);
    CHECK(sentence.find("generic-soft") != std::string::npos);
    CHECK(sentence.find("bring them to one altitude") != std::string::npos);
    // What needs no blending is taken as it is.
    CHECK(card_at_mix(family[0], family, {30, 100}).density_air_kpa == 0.8 * kAtmosphere_kpa);
}

TEST_CASE("free rise of a card that states another density") {
    FoamCard card = load_card("generic-firm");
    card.basis = DensityBasis::molded;
    card.density_kg_m3 = {150, 140, 160};
    card.packing = {1.2, 1.1, 1.3};
    CHECK_NEAR(free_rise_kg_m3(card).value, 125, 1e-12);
    card.basis = DensityBasis::core;
    CHECK(free_rise_kg_m3(card).value == 150);
}
