// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/batch.h"

#include "cavigram/core/error.h"

#include "support/near.h"

using namespace cavigram;

namespace {

Batch pour(double total_g, const MixRatio& mix, double step_g) {
    BatchRequest request;
    request.part_mass_g = total_g;
    request.waste_share = 0.0;
    request.mix = mix;
    request.scale_readability_g = step_g;
    return batch(request);
}

}  // namespace

TEST_CASE(
    "W1-W4: the scale's share in the ratio's uncertainty (checks.md section 10; JCGM 100:2008)") {
    CHECK_NEAR(pour(150, {50, 100}, 1).ratio_uncertainty_percent, 1.290994, 1e-6);     // W1
    CHECK_NEAR(pour(150, {50, 100}, 0.1).ratio_uncertainty_percent, 0.1290994, 1e-6);  // W2
    CHECK_NEAR(pour(150, {50, 100}, 5).ratio_uncertainty_percent, 6.454972, 1e-6);     // W2
    CHECK_NEAR(pour(75, {50, 100}, 1).ratio_uncertainty_percent, 2.581989, 1e-6);      // W3
    // W4 speaks of 17.307692 + 57.692308 g before rounding; 0.001 g steps come that near, scaled to
    // 1 g.
    CHECK_NEAR(1000 * pour(75, {30, 100}, 0.001).ratio_uncertainty_percent, 3.482679, 1e-4);
}

TEST_CASE("W5, T5: the least batch for a scale, and the scale for a batch") {
    CHECK_NEAR(pour(150, {50, 100}, 1).least_batch_g, 96.824584, 1e-7);
    CHECK_NEAR(pour(150, {30, 100}, 1).least_batch_g, 130.600465, 1e-7);
    const Batch small = pour(75, {50, 100}, 1);
    CHECK(small.scale_needed_g == 0.5);
    REQUIRE(small.findings.size() == 1);
    CHECK(small.findings[0].code == "batch_too_small_for_scale");
    CHECK(pour(97, {50, 100}, 1).findings.empty());
    CHECK(pour(9.7, {50, 100}, 0.1).findings.empty());
    CHECK(pour(9.7, {50, 100}, 1).scale_needed_g == 0.1);
}

TEST_CASE(
    "W6, T6: 150 g is 50 + 100 at 50:100; rounding keeps the ratio as true as the scale can") {
    const Batch firm = pour(150, {50, 100}, 1);
    CHECK(firm.part_a_g == 50.0);
    CHECK(firm.part_b_g == 100.0);
    CHECK(firm.ratio_off_percent == 0.0);
    const Batch soft = pour(150, {30, 100}, 0.01);
    CHECK(std::abs(soft.part_a_g - 34.615385) < 0.01);
    CHECK(std::abs(soft.part_b_g - 115.384615) < 0.02);
    const Batch coarse =
        pour(150, {30, 100}, 1);  // 35 + 115 would be 1.4 % off, 35 + 116 is 0.6 % off
    CHECK(coarse.part_a_g == 35.0);
    CHECK(coarse.part_b_g == 116.0);
    CHECK_NEAR(coarse.ratio_off_percent, 100 * (35.0 / 116.0 / 0.3 - 1), 1e-9);
}

TEST_CASE("W7: waste is a share of the gross pour") {
    BatchRequest request;
    request.part_mass_g = 75;
    request.waste_share = 0.1;
    const Batch b = batch(request);
    CHECK_NEAR(b.pour_mass_g, 83.333333, 1e-8);
    CHECK_NEAR(b.waste_g, 8.333333, 1e-7);
}

TEST_CASE("grams never fall short, always re-sum, and more waste never lowers them") {
    for (const double step : {0.01, 0.1, 1.0, 5.0}) {
        double before = 0.0;
        for (const double waste : {0.0, 0.03, 0.1, 0.25, 0.5}) {
            BatchRequest request;
            request.part_mass_g = 61.37;
            request.mix = {30, 100};
            request.waste_share = waste;
            request.spare_g = 5;
            request.scale_readability_g = step;
            request.copies = 7;
            const Batch b = batch(request);
            CHECK(b.part_a_g + b.part_b_g >= b.pour_mass_g - 1e-3 * step);
            CHECK(b.part_a_g + b.part_b_g < b.pour_mass_g + 2 * step);
            CHECK_NEAR(b.pour_mass_g - b.waste_g, 66.37, 1e-12);
            CHECK(b.part_a_g + b.part_b_g >= before);
            CHECK_NEAR(b.total_a_g, 7 * b.part_a_g, 1e-15);
            before = b.part_a_g + b.part_b_g;
        }
    }
}

TEST_CASE("a pour far below the scale's step still gives one step of each") {
    const Batch tiny = pour(1e-6, {50, 100}, 1);
    CHECK(tiny.part_a_g == 1.0);
    CHECK(tiny.part_b_g == 1.0);
    CHECK(tiny.findings.front().code == "batch_too_small_for_scale");
}

TEST_CASE("T4: pigment is a share of B, on top of the ratio") {
    BatchRequest request;
    request.part_mass_g = 150;
    request.waste_share = 0;
    request.pigment_share = 0.03;
    const Batch b = batch(request);
    CHECK(b.part_b_g == 100.0);
    CHECK_NEAR(b.pigment_g, 3.0, 1e-12);
    request.part_mass_g = 15;
    CHECK_NEAR(batch(request).pigment_g, 0.3, 1e-12);
    CHECK(batch(request).findings.back().code == "batch_too_small_for_scale");
    CHECK(batch(request).findings.front().code == "pigment_below_scale");
}

TEST_CASE("the cup holds twice the liquid and the waste risen") {
    const Batch b = pour(150, {50, 100}, 1);
    CHECK_NEAR(b.liquid_ml, 150 / 1.08, 1e-12);
    CHECK(b.cup_ml == 280.0);
}

TEST_CASE(
    "a pour that is too large for the work time is split, and a kit is used up by its first side") {
    BatchRequest request;
    request.part_mass_g = 900;
    request.waste_share = 0.1;
    request.largest_g = 400;
    request.copies = 2;
    request.kit_a_g = 5000;
    request.kit_b_g = 8000;
    request.kit_price = 100;
    const Batch b = batch(request);
    CHECK(b.cups_each == 3);
    CHECK(b.batches == 6);
    CHECK_NEAR(b.pour_mass_g, 1000.0 / 3, 1e-12);
    CHECK(3 * (b.part_a_g + b.part_b_g) >= 1000.0);
    CHECK_NEAR(b.total_b_g, 6 * b.part_b_g, 1e-15);
    CHECK(b.findings.front().code == "several_cups");
    CHECK_NEAR(b.copies_per_kit, 8000 / (3 * b.part_b_g), 1e-12);
    CHECK_NEAR(b.cost_per_copy * b.copies_per_kit, 100.0, 1e-12);
    request.largest_g = 1000.0;
    CHECK(batch(request).cups_each == 1);
    request.largest_g = 0.1;
    CHECK_THROWS_AS(static_cast<void>(batch(request)), InvalidInput);
}

TEST_CASE("what makes no sense is refused") {
    const auto refused = [](auto change) {
        BatchRequest request;
        request.part_mass_g = 100;
        change(request);
        CHECK_THROWS_AS(static_cast<void>(batch(request)), InvalidInput);
    };
    refused([](BatchRequest& r) { r.part_mass_g = 0; });
    refused([](BatchRequest& r) { r.waste_share = 1.0; });
    refused([](BatchRequest& r) { r.waste_share = -0.1; });
    refused([](BatchRequest& r) { r.scale_readability_g = 0; });
    refused([](BatchRequest& r) { r.copies = 0; });
    refused([](BatchRequest& r) { r.pigment_share = 2; });
}
