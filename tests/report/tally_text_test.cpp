// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/report/tally_text.h"

#include <doctest/doctest.h>

using namespace cavigram;

TEST_CASE("castings and their fit in words") {
    Casting c;
    c.number = 3;
    c.date = "2026-11-24";
    c.part = "bell.stl";
    c.foam = "ours";
    c.mix = "50:100";
    c.volume_mm3 = 250000;
    c.area_mm2 = 60000;
    c.part_mass_g = 40;
    c.note = "slow";
    CHECK(casting_text(c) ==
          "  3  2026-11-24  bell.stl, ours 50:100, out 40.00 g: 160 kg/m3 (9.99 lb/ft3), slow\n");
    CHECK(castings_text({c, c}).find("2 castings\n") != std::string::npos);
    ShopFit fit;
    fit.castings = 9;
    fit.core_density_kg_m3 = {115, 6};
    fit.skin_mass_per_area_g_m2 = {280, 30};
    fit.waste_castings = 9;
    fit.waste_share = {0.08, 0.01};
    const std::string text = fit_text(fit);
    CHECK(text.find("115 +- 6.0 kg/m3 (7.18 lb/ft3)") != std::string::npos);
    CHECK(text.find("280 +- 30 g/m2") != std::string::npos);
    CHECK(text.find("8.00 +- 1.0 % of the pour") != std::string::npos);
}
