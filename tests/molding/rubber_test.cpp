// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/rubber.h"

#include "cavigram/core/error.h"

#include "support/near.h"
#include "support/refusal.h"

using namespace cavigram;

namespace {

RubberRequest around_box() {
    RubberRequest request;
    request.card = load_rubber_card("generic-silicone-soft");
    request.card.density_kg_m3 = 1100.0;
    request.around_mm3 = 315020.643;  // G-1: what stands within 10 mm of a box of 100 x 60 x 40 mm
    return request;
}

}  // namespace

TEST_CASE("R1: rubber is volume times density, waste a share of what is stirred") {
    // docs/checks.md R1 on G-1: 315.020643 mL at 1.1 g/mL, 10 % lost of what is stirred (W7).
    RubberRequest request = around_box();
    request.waste_share = 0.1;
    request.error_mm3 = 1000.0;
    const Rubber rubber = rubber_amounts(request);
    CHECK_NEAR(rubber.net_g, 346.5227073, 1e-9);
    CHECK_NEAR(rubber.gross_g, 385.0252303, 1e-9);
    CHECK_NEAR(rubber.net_g + rubber.waste_g, rubber.gross_g, 1e-15);
    CHECK_NEAR(rubber.error_g, 1.1, 1e-12);
    CHECK_NEAR(rubber.part_a_g, rubber.part_b_g, 1e-15);
    CHECK(rubber.coats == 0);
    CHECK(rubber.findings.empty());
    // By weight: ten parts to one.
    request.card.mix = {10.0, 1.0};
    const Rubber tenth = rubber_amounts(request);
    CHECK_NEAR(tenth.part_b_g, 385.0252303 / 11.0, 1e-9);
    CHECK_NEAR(tenth.part_a_g + tenth.part_b_g, tenth.gross_g, 1e-15);
}

TEST_CASE("holes are kept free of rubber; the card's waste where none is given") {
    RubberRequest request = around_box();
    request.holes_mm3 = 5020.643;
    const Rubber rubber = rubber_amounts(request);
    CHECK_NEAR(rubber.volume_mm3, 310000.0, 1e-12);
    CHECK_NEAR(rubber.gross_g, 341.0 / 0.95, 1e-12);
    request.waste_share = 1.0;
    CHECK(refusal_of([&] { static_cast<void>(rubber_amounts(request)); }).find("share") !=
          std::string::npos);
}

TEST_CASE("brushed in coats that make up the whole thickness") {
    RubberRequest request = around_box();
    request.kind = MoldKind::brushed;
    request.card.coat_mm = 1.5;
    const auto coats = [&](double t) {
        request.thickness_mm = t;
        return rubber_amounts(request).coats;
    };
    CHECK(coats(9.0) == 6);
    CHECK(coats(9.1) == 7);
    CHECK(coats(0.5) == 1);
    const Rubber rubber = rubber_amounts(request);
    CHECK_NEAR(rubber.coat_g * rubber.coats, rubber.gross_g, 1e-15);
    CHECK(rubber.findings.empty());  // thin coats are what brushing is for
}

TEST_CASE("a poured wall thinner than rubber runs through is told") {
    RubberRequest request = around_box();
    for (const MoldKind kind : {MoldKind::box, MoldKind::jacketed}) {
        request.kind = kind;
        request.thickness_mm = 5.0;
        CHECK(rubber_amounts(request).findings.empty());
        request.thickness_mm = 4.9;
        const Rubber rubber = rubber_amounts(request);
        REQUIRE(rubber.findings.size() == 1);
        CHECK(rubber.findings.front().code == FindingCode("wall_thin_to_pour"));
        CHECK(rubber.findings.front().severity == Severity::warning);
    }
    CHECK(parse_mold_kind("jacketed", "--kind") == MoldKind::jacketed);
    CHECK_THROWS_AS(static_cast<void>(parse_mold_kind("glove", "--kind")), InvalidInput);
}

TEST_CASE("R4: shrinkage of rubber and of foam follow one another") {
    CHECK_NEAR(combined_shrink(0.004, 0.01), 0.01396, 1e-12);
    // ASTM D3851: shrinkage is a share of the mold's length, 250 to 247.5 mm is 1.000 %.
    CHECK_NEAR(250.0 * (1.0 - combined_shrink(0.0, 0.01)), 247.5, 1e-15);
}

TEST_CASE("A6: a light master floats in its rubber") {
    // 240 mL of 600 kg/m3 are 144 g, in rubber of 1100 kg/m3.
    CHECK_NEAR(master_lift_n(240e3, 144.0, 1100.0), 1.176798, 1e-9);
    CHECK(master_lift_n(240e3, 300.0, 1100.0) < 0.0);
    CHECK_NEAR(master_lift_n(240e3, 0.0, 1100.0), 0.264 * 9.80665, 1e-12);
}
