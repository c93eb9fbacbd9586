// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/channel_flow.h"

#include <numbers>

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

// docs/checks.md F0: plates and tubes in closed form, ducts by series.
TEST_CASE("permeability of plates, tubes and ducts") {
    CHECK_NEAR(plate_permeability_mm2(10.0), 100.0 / 12.0, 1e-15);
    CHECK_NEAR(tube_permeability_mm2(20.0), 100.0 / 8.0, 1e-15);
    CHECK_NEAR(duct_permeability_mm2(1.0, 1.0), 0.035144254, 1e-7);
    CHECK_NEAR(duct_permeability_mm2(2.0, 1.0), 0.057170419, 1e-7);
    CHECK_NEAR(duct_permeability_mm2(1.0, 4.0), 0.070203240, 1e-7);
    CHECK_NEAR(duct_permeability_mm2(1.0, 10.0), 0.078081254, 1e-7);
    // A duct as wide as one likes is two plates.
    CHECK_NEAR(duct_permeability_mm2(3.0, 3e7), plate_permeability_mm2(3.0), 1e-6);
    CHECK_THROWS_AS(static_cast<void>(duct_permeability_mm2(0.0, 1.0)), InvalidInput);
}

TEST_CASE("permeability from gap and walls") {
    CHECK_NEAR(local_permeability_mm2(6.0, 2.0), plate_permeability_mm2(6.0), 1e-15);
    CHECK_NEAR(local_permeability_mm2(6.0, 4.0), tube_permeability_mm2(6.0), 1e-15);
    CHECK(local_permeability_mm2(6.0, 0.0) == plate_permeability_mm2(6.0));
    CHECK(local_permeability_mm2(6.0, 9.0) == tube_permeability_mm2(6.0));
    // Rectangles: walls over volume is 2 (h + b)/(h b). As the header says, within 13 %.
    for (const double b : {1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0, 100.0}) {
        CHECK_NEAR(local_permeability_mm2(1.0, 2.0 * (1.0 + b) / b), duct_permeability_mm2(1.0, b),
                   0.13);
    }
}

TEST_CASE("a hole through a wall") {
    // Hagen and Poiseuille: area times the tube's permeability over the length.
    CHECK_NEAR(hole_conductance_mm3(4.0, 20.0),
               std::numbers::pi * 4.0 * tube_permeability_mm2(4.0) / 20.0, 1e-14);
}
