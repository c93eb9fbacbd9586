// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/foam_mass.h"

#include <string>

#include "cavigram/core/error.h"

#include "foam/closed_forms.h"
#include "support/near.h"

using namespace cavigram;

namespace {

Ranged exactly(double value) {
    return {value, value, value};
}

FoamRequest request(DensityBasis basis, double density, double skin_density, double thickness,
                    SkinProfile profile = SkinProfile::step) {
    FoamRequest r;
    r.basis = basis;
    r.density_kg_m3 = exactly(density);
    r.skin_density_kg_m3 = exactly(skin_density);
    r.skin_thickness_mm = exactly(thickness);
    r.profile = profile;
    return r;
}

std::string refusal(const CavityAmounts& cavity, const FoamRequest& r) {
    try {
        static_cast<void>(foam_mass(cavity, r));
    } catch (const InvalidInput& error) {
        return error.what();
    }
    return "accepted";
}

}  // namespace

TEST_CASE("S2, S3, S4, S5: mass and mean density from core and skin (checks.md section 2)") {
    const auto core = [](double t, SkinProfile profile) {
        return request(DensityBasis::core, 130, 600, t, profile);
    };
    const FoamMass box = foam_mass(closed_forms::box(100, 60, 40), core(2, SkinProfile::step));
    CHECK_NEAR(box.part_mass_g, 53.03808, 1e-9);
    CHECK_NEAR(box.molded_density_kg_m3, 220.992, 1e-9);
    const FoamMass sphere = foam_mass(closed_forms::sphere(30), core(2, SkinProfile::step));
    CHECK_NEAR(sphere.part_mass_g, 24.64080971, 1e-9);
    CHECK_NEAR(sphere.molded_density_kg_m3, 217.872593, 1e-8);
    const FoamMass fading = foam_mass(closed_forms::sphere(30), core(2, SkinProfile::exponential));
    CHECK_NEAR(fading.part_mass_g, 24.01081563, 1e-9);
    CHECK_NEAR(fading.molded_density_kg_m3, 212.302222, 1e-8);
    const FoamMass cylinder =
        foam_mass(closed_forms::cylinder(20, 300), core(2, SkinProfile::step));
    CHECK_NEAR(cylinder.part_mass_g, 84.587759, 1e-8);
    CHECK_NEAR(cylinder.molded_density_kg_m3, 224.376, 1e-9);
}

TEST_CASE("S8: the core that a goal density leaves") {
    const FoamMass box =
        foam_mass(closed_forms::box(100, 60, 40), request(DensityBasis::molded, 160, 500, 2));
    CHECK_NEAR(box.skin_volume_mm3 / 240000, 0.1936, 1e-12);
    CHECK_NEAR(box.core_density_kg_m3, 78.373016, 1e-8);
    CHECK_NEAR(box.part_mass_g, 38.4, 1e-9);
    CHECK_NEAR(box.skin_mass_g + box.core_mass_g, box.part_mass_g, 1e-12);
}

TEST_CASE("S9: a skin too heavy for the goal is refused with the thickest that fits") {
    const CavityAmounts cavity = closed_forms::box(100, 60, 40);
    CHECK(
        foam_mass(cavity, request(DensityBasis::molded, 128.1477, 600, 2.2227)).core_density_kg_m3 >
        0.0);
    CHECK(
        foam_mass(cavity, request(DensityBasis::molded, 128.1477, 600, 2.2227)).core_density_kg_m3 <
        0.1);
    const std::string sentence =
        refusal(cavity, request(DensityBasis::molded, 128.1477, 600, 2.2228));
    CHECK(sentence.find("2.22 mm at the most") != std::string::npos);
    CHECK(refusal(cavity, request(DensityBasis::molded, 128.1477, 600, 30))
              .find("2.22 mm at the most") != std::string::npos);
}

TEST_CASE("a light skin that leaves no core is refused for what it is, not as too heavy") {
    // 30 mm of skin in a box 40 mm high: 240 mL at 100 kg/m3 are 24 g, 30.8 g were asked for.
    const std::string sentence =
        refusal(closed_forms::box(100, 60, 40), request(DensityBasis::molded, 128.1477, 100, 30));
    CHECK(sentence.find("leaves no core") != std::string::npos);
    CHECK(sentence.find("24.0 g") != std::string::npos);
    CHECK(sentence.find("30.8 g") != std::string::npos);
}

TEST_CASE("S10: overpack and skin thickness are one and the same surplus") {
    const CavityAmounts cavity = closed_forms::box(100, 60, 40);
    FoamRequest r = request(DensityBasis::free_rise, 128.1477, 600, 0);
    r.overpack = 1.2;
    const FoamMass packed = foam_mass(cavity, r);
    CHECK_NEAR(packed.skin_volume_mm3 / 240000, 0.05431687, 1e-5);
    CHECK_NEAR(packed.skin_thickness_mm, 0.534825, 1e-5);
    CHECK_NEAR(packed.molded_density_kg_m3, 1.2 * 128.1477, 1e-12);
    // The way back: that thickness gives that overpack.
    const FoamMass skinned = foam_mass(
        cavity, request(DensityBasis::free_rise, 128.1477, 600, packed.skin_thickness_mm));
    CHECK_NEAR(*skinned.packing_factor, 1.2, 1e-9);

    r.overpack = 0.9;
    CHECK(refusal(cavity, r).find("would not fill") != std::string::npos);
    r.overpack = 5.0;
    CHECK(refusal(cavity, r).find("all skin") != std::string::npos);
    r.overpack = 1.2;
    r.basis = DensityBasis::molded;
    CHECK(refusal(cavity, r).find("free-rise") != std::string::npos);
}

TEST_CASE(
    "S11: equal densities weigh density times volume, whatever the skin; mass grows with skin and "
    "its density") {
    const CavityAmounts cavity = closed_forms::cylinder(20, 300);
    for (const SkinProfile profile : {SkinProfile::step, SkinProfile::exponential}) {
        const FoamMass even = foam_mass(cavity, request(DensityBasis::core, 130, 130, 3, profile));
        CHECK_NEAR(even.part_mass_g, 130e-6 * cavity.volume_mm3, 1e-12);
        double before = 0.0;
        for (const double t : {0.0, 0.5, 1.0, 2.0, 4.0}) {
            const double now =
                foam_mass(cavity, request(DensityBasis::core, 130, 600, t, profile)).part_mass_g;
            CHECK(now > before);
            before = now;
        }
        CHECK(foam_mass(cavity, request(DensityBasis::core, 130, 700, 2, profile)).part_mass_g >
              foam_mass(cavity, request(DensityBasis::core, 130, 600, 2, profile)).part_mass_g);
    }
}

TEST_CASE("the range holds every combination of what is uncertain") {
    CavityAmounts cavity = closed_forms::box(100, 60, 40);
    cavity.volume_low_mm3 *= 0.98;
    cavity.volume_high_mm3 *= 1.03;
    const FoamMass goal = foam_mass(cavity, request(DensityBasis::molded, 160, 500, 2));
    CHECK_NEAR(goal.part_mass_low_g, 0.98 * 38.4, 1e-12);
    CHECK_NEAR(goal.part_mass_high_g, 1.03 * 38.4, 1e-12);

    FoamRequest r = request(DensityBasis::core, 130, 600, 2);
    r.skin_thickness_mm = {2, 1, 3};
    r.skin_density_kg_m3 = {600, 500, 700};
    r.density_kg_m3 = {130, 120, 140};
    const FoamMass uncertain = foam_mass(cavity, r);
    for (const double t : {1.0, 2.0, 3.0}) {
        for (const double skin : {500.0, 700.0}) {
            for (const double core : {120.0, 140.0}) {
                const double m =
                    foam_mass(cavity, request(DensityBasis::core, core, skin, t)).part_mass_g;
                CHECK(uncertain.part_mass_low_g <= 0.98 * m * (1 + 1e-12));
                CHECK(uncertain.part_mass_high_g >= 1.03 * m * (1 - 1e-12));
            }
        }
    }
}

TEST_CASE("odd but possible skins are allowed, and said") {
    const CavityAmounts cavity = closed_forms::box(100, 60, 40);
    const FoamMass light = foam_mass(cavity, request(DensityBasis::core, 300, 200, 2));
    REQUIRE(light.findings.size() == 1);
    CHECK(light.findings[0].code == "skin_lighter_than_core");
    const FoamMass solid = foam_mass(cavity, request(DensityBasis::core, 130, 600, 25));
    REQUIRE(solid.findings.size() == 1);
    CHECK(solid.findings[0].code == "all_skin");
    CHECK_NEAR(solid.part_mass_g, 144.0, 1e-12);

    // A typical skin gives way to its low end; a measured one does not.
    FoamRequest r = request(DensityBasis::molded, 128.1477, 600, 3);
    r.skin_thickness_mm = {3, 1, 4};
    CHECK(refusal(cavity, r) != "accepted");
    r.skin_is_typical = true;
    const FoamMass thinned = foam_mass(cavity, r);
    CHECK(thinned.skin_thickness_mm == 1.0);
    REQUIRE(thinned.findings.size() == 1);
    CHECK(thinned.findings[0].code == "skin_thinned");
}
