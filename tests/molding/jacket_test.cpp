// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/jacket.h"

#include <array>

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

TEST_CASE("P1: dry plaster by its water") {
    // By the reaction's masses, and a public table of a glass-casting page (generic rows) to 2 %.
    const std::array<std::array<double, 3>, 4> rows = {{{0.70, 1098.06, 1106.0},
                                                        {0.65, 1151.35, 1162.0},
                                                        {0.74, 1058.85, 1057.0},
                                                        {0.45, 1428.71, 1442.0}}};
    for (const auto& [water, derived, table] : rows) {
        CAPTURE(water);
        CHECK_NEAR(dry_plaster_kg_m3(water), derived, 1e-5);
        CHECK_NEAR(dry_plaster_kg_m3(water), table, 0.02);
    }
}

TEST_CASE("P2: wet plaster") {
    CHECK_NEAR(wet_plaster_kg_m3(0.7), 1573.74, 1e-5);
}

TEST_CASE("a plaster jacket: powder and water make its volume, and it dries lighter") {
    // docs/checks.md G-5: 763.128285 mL.
    JacketRequest request;
    request.volume_mm3 = 763128.285;
    request.waste_share = 0.0;
    const Jacket jacket = jacket_amounts(request);
    CHECK_NEAR(jacket.water_g, 0.7 * jacket.powder_g, 1e-15);
    CHECK_NEAR(jacket.powder_g / 2.63 + jacket.water_g, 763.128285, 1e-12);  // mL of powder, water
    CHECK_NEAR(jacket.powder_g + jacket.water_g, jacket.heaviest_g, 1e-12);
    // Dry: the powder and the water that it binds, 27.02 g to 145.15 g.
    CHECK_NEAR(jacket.dry_g, jacket.powder_g * (1.0 + 27.02 / 145.15), 1e-12);
    CHECK(jacket.resin_g == 0.0);
    request.waste_share = 0.1;
    const Jacket wasteful = jacket_amounts(request);
    CHECK_NEAR(wasteful.powder_g, jacket.powder_g / 0.9, 1e-12);
    CHECK_NEAR(wasteful.heaviest_g, jacket.heaviest_g, 1e-15);
    request.water_per_plaster = 7.0;
    CHECK(refusal_of([&] {
              static_cast<void>(jacket_amounts(request));
          }).find("outside 0.25 to 1.5") != std::string::npos);
}

TEST_CASE("a resin jacket by its density") {
    JacketRequest request;
    request.material = JacketMaterial::resin;
    request.volume_mm3 = 100e3;
    request.resin_kg_m3 = 1400.0;
    request.waste_share = 0.2;
    const Jacket jacket = jacket_amounts(request);
    CHECK_NEAR(jacket.dry_g, 140.0, 1e-12);
    CHECK(jacket.heaviest_g == jacket.dry_g);
    CHECK_NEAR(jacket.resin_g, 175.0, 1e-12);
    CHECK(jacket.powder_g == 0.0);
    CHECK(usual_jacket_mm(JacketMaterial::plaster) > usual_jacket_mm(JacketMaterial::resin));
    CHECK(parse_jacket_material("resin", "--jacket-of") == JacketMaterial::resin);
    CHECK_THROWS_AS(static_cast<void>(parse_jacket_material("tin", "--jacket-of")), InvalidInput);
}
