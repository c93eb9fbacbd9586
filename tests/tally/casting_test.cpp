// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/tally/casting.h"

#include <cmath>
#include <limits>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

// A cavity of 300 mL.
Casting bell() {
    Casting c;
    c.date = "2026-11-24";
    c.part = "ship's bell, \"soft\"";
    c.foam = "generic-firm";
    c.mix = "50:100";
    c.volume_mm3 = 300000;
    c.area_mm2 = 68000;
    c.skin_reference_mm = 1.0;
    c.skin_volume_mm3 = 60000;
    c.cup_mass_g = 60;
    c.part_mass_g = 50;
    c.verdict = "good";
    return c;
}

std::string refusal(const Casting& c, double liquid_kg_m3 = kDensestLiquid_kg_m3) {
    return refusal_of([&] { return check_casting(c, liquid_kg_m3); });
}

}  // namespace

TEST_CASE("a verdict is one of four words; older words are known as such") {
    CHECK(casting_verdict("good") == CastingVerdict::good);
    CHECK(casting_verdict("") == CastingVerdict::good);
    CHECK(casting_verdict("short") == CastingVerdict::short_shot);
    CHECK(casting_verdict("lost") == CastingVerdict::lost);
    CHECK(casting_verdict("flashed") == CastingVerdict::flashed);
    CHECK(casting_verdict("flaw") == CastingVerdict::other);
    CHECK_THROWS_AS(static_cast<void>(parse_casting_verdict("flaw", "--verdict")), InvalidInput);
    Casting c = bell();
    c.verdict = "flaw";
    CHECK(refusal(c).find("good, short, lost or flashed") != std::string::npos);
}

TEST_CASE("what was in the mold, the freely risen cup, the skin's area") {
    Casting c = bell();
    CHECK(mold_mass_g(c) == 50.0);
    c.flash_mass_g = 3.5;
    CHECK(mold_mass_g(c) == 53.5);
    c.part_mass_g.reset();
    CHECK_FALSE(mold_mass_g(c));
    CHECK_FALSE(free_rise_density_kg_m3(c));
    c.free_rise_mass_g = 8.0;
    c.free_rise_volume_ml = 62.5;
    // 8 g in 62.5 cm3 are 0.128 g/cm3, 1 g/cm3 being 1,000 kg/m3.
    CHECK_NEAR(*free_rise_density_kg_m3(c), 128.0, 1e-14);
    CHECK(skin_area_mm2(c) == 60000.0);
    c.skin_reference_mm = 1.5;
    CHECK(skin_area_mm2(c) == 40000.0);
    c.skin_volume_mm3.reset();
    CHECK(skin_area_mm2(c) == c.area_mm2);
}

TEST_CASE("what only a damaged log holds is known") {
    CHECK(is_possible(bell()));
    const double inf = std::numeric_limits<double>::infinity();
    for (const double wrong : {-1.0, 1e308, inf, std::nan("")}) {
        CAPTURE(wrong);
        for (auto Casting::*const number : {&Casting::volume_mm3, &Casting::area_mm2}) {
            Casting c = bell();
            c.skin_volume_mm3.reset();
            c.*number = wrong;
            CHECK_FALSE(is_possible(c));
        }
        for (auto Casting::*const mass :
             {&Casting::cup_mass_g, &Casting::part_mass_g, &Casting::flash_mass_g,
              &Casting::stayed_mass_g, &Casting::free_rise_mass_g}) {
            Casting c = bell();
            c.*mass = wrong;
            CHECK_FALSE(is_possible(c));
        }
    }
    for (auto Casting::*const mass :
         {&Casting::cup_mass_g, &Casting::part_mass_g, &Casting::free_rise_mass_g}) {
        Casting c = bell();
        c.*mass = 0.0;
        CHECK_FALSE(is_possible(c));
    }
    Casting c = bell();
    c.flash_mass_g = 0.0;
    c.stayed_mass_g = 0.0;
    CHECK(is_possible(c));
    c.free_rise_mass_g = 3.0;
    c.free_rise_volume_ml = 0.0;
    CHECK_FALSE(is_possible(c));
    c = bell();
    c.part_mass_g = 331.0;  // 300 mL of polymer at 1.1 g/mL are 330 g
    CHECK_FALSE(is_possible(c));
}

TEST_CASE("masses that can't be are refused, and their neighbors are not") {
    CHECK(refusal(bell()) == "accepted");
    Casting c = bell();
    // 300 mL of polymer at 1.1 g/mL are 330 g.
    c.cup_mass_g.reset();
    c.part_mass_g = 329.9;
    CHECK(refusal(c) == "accepted");
    c.part_mass_g = 330.1;
    CHECK(refusal(c).find("polymer") != std::string::npos);
    CHECK(heavier_than_polymer(c));

    c = bell();
    c.part_mass_g = 61.0;  // the rounding of two readings of a gram scale
    CHECK(refusal(c) == "accepted");
    c.part_mass_g = 61.5;
    CHECK(refusal(c).find("more than the 60.00 g poured") != std::string::npos);
    c = bell();
    c.flash_mass_g = 4.0;
    c.stayed_mass_g = 3.0;
    c.free_rise_mass_g = 3.0;
    c.free_rise_volume_ml = 24.0;
    CHECK(refusal(c) == "accepted");
    c.stayed_mass_g = 4.5;
    CHECK(refusal(c).find("61.50 g") != std::string::npos);
    for (double impossible : {-1.0, 0.0, std::nan(""), double(INFINITY)}) {
        c = bell();
        c.part_mass_g = impossible;
        CHECK(refusal(c).find("weigh again") != std::string::npos);
    }
    c = bell();
    c.stayed_mass_g = 0.0;
    c.flash_mass_g = 0.0;
    CHECK(refusal(c) == "accepted");
    c.stayed_mass_g = -0.1;
    CHECK(refusal(c).find("stayed in the cups") != std::string::npos);
}

TEST_CASE("a freely risen cup is foam: not denser than its liquid, with mass and volume") {
    Casting c = bell();
    c.free_rise_mass_g = 8.0;
    CHECK(refusal(c).find("free_rise_volume") != std::string::npos);
    c.free_rise_volume_ml = 0.0;
    CHECK(refusal(c).find("measure again") != std::string::npos);
    c.free_rise_volume_ml = 7.5;  // 1,067 kg/m3
    CHECK(refusal(c) == "accepted");
    CHECK(refusal(c, 1050.0).find("more than the liquid") != std::string::npos);
    c.free_rise_volume_ml = 6.0;  // 1,333 kg/m3: denser than any liquid of this kind
    CHECK(refusal(c).find("more than the liquid") != std::string::npos);
    CHECK(refusal(c, 5000.0).find("more than the liquid") != std::string::npos);
}

TEST_CASE("a cavity must be there, and hold its skin") {
    Casting c = bell();
    c.volume_mm3 = 0.0;
    CHECK(refusal(c).find("no volume") != std::string::npos);
    c = bell();
    c.skin_volume_mm3 = 300001.0;
    CHECK(refusal(c).find("skin volume") != std::string::npos);
    c.skin_volume_mm3 = 300000.0;  // all of it is within the depth
    CHECK(refusal(c) == "accepted");
    c.skin_reference_mm.reset();
    CHECK(refusal(c).find("skin volume") != std::string::npos);
}

TEST_CASE("CSV by RFC 4180, new columns behind the old ones") {
    Casting c = bell();
    c.number = 7;
    c.note = "cold room,\nslow rise";
    c.stayed_mass_g = 2.5;
    const std::string csv = castings_csv({c});
    CHECK(csv.find("number,date,part,mold,foam,mix,volume_mm3,area_mm2,cup_mass_g,part_mass_g,"
                   "flash_mass_g,temperature_c,verdict,note,skin_reference_mm,skin_volume_mm3,"
                   "stayed_mass_g,free_rise_mass_g,free_rise_volume_ml\r\n") == 0);
    CHECK(csv.find("7,2026-11-24,\"ship's bell, \"\"soft\"\"\",,generic-firm,50:100,300000,68000,"
                   "60,50,,,good,\"cold room,\nslow rise\",1,60000,2.5,,\r\n") !=
          std::string::npos);
}
