// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/liquid.h"

#include "support/near.h"

using namespace cavigram;

TEST_CASE("E1, E2: density of the stirred mix and its expansion (checks.md section 4)") {
    const double firm = mixed_density_kg_m3({50, 100}, 1200, 1030);
    CHECK_NEAR(firm, 1081.049563, 1e-8);
    CHECK_NEAR(expansion_ratio(firm, parse_quantity("8lb/ft3", Kind::density, "")), 8.435965, 1e-7);
    const double soft = mixed_density_kg_m3({30, 100}, 1200, 1030);
    CHECK_NEAR(soft, 1064.811133, 1e-8);
    CHECK_NEAR(expansion_ratio(soft, parse_quantity("13lb/ft3", Kind::density, "")), 5.113384,
               1e-7);
}

TEST_CASE("E3: how far a pour goes") {
    const double firm = parse_quantity("8lb/ft3", Kind::density, "");
    CHECK_NEAR(150.0 / firm * 1000, 1170.524, 1e-6);
    CHECK_NEAR(75.0 / firm * 1000, 585.262, 1e-6);
    CHECK_NEAR(75.0 / parse_quantity("13lb/ft3", Kind::density, "") * 1000, 360.161, 2e-6);
}
