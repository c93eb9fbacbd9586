// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/batch.h"

#include <algorithm>
#include <cmath>

#include "cavigram/core/error.h"

#include "support/findings.h"
#include "support/near.h"

using namespace cavigram;

namespace {

// As the published figures have it: one reading for each part.
BatchRequest direct(double total_g, const MixRatio& mix, double step_g) {
    BatchRequest request;
    request.part_mass_g = total_g;
    request.waste_share = 0.0;
    request.mix = mix;
    request.scale_readability_g = step_g;
    request.weighing = Weighing::direct;
    return request;
}

Batch pour(double total_g, const MixRatio& mix, double step_g) {
    return batch(direct(total_g, mix, step_g));
}

bool has(const Batch& b, FindingCode code) {
    return has_finding(b.findings, code);
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

TEST_CASE(
    "W1, W3: the doubled uncertainty lies between one and the worst case of half a step each") {
    // W1: 50 and 100 g at 1 g: worst 1.5 %, extreme ratios 0.492537 and 0.507538; W3: 25 and 50 g:
    // worst 3 %.
    const auto worst_percent = [](double a, double b) { return 100 * 0.5 * (1 / a + 1 / b); };
    CHECK_NEAR(worst_percent(50, 100), 1.5, 1e-12);
    CHECK_NEAR(worst_percent(25, 50), 3.0, 1e-12);
    CHECK_NEAR(49.5 / 100.5, 0.492537, 1e-6);
    CHECK_NEAR(50.5 / 99.5, 0.507538, 1e-6);
    for (const double total : {150.0, 75.0}) {
        const Batch b = pour(total, {50, 100}, 1);
        const double worst = worst_percent(b.part_a_g, b.part_b_g);
        CHECK(b.ratio_uncertainty_percent < worst);
        // Rectangular readings can't leave the worst case, whatever their spread says.
        const double low = (b.part_a_g - 0.5) / (b.part_b_g + 0.5);
        const double high = (b.part_a_g + 0.5) / (b.part_b_g - 0.5);
        CHECK(100 * (high - low) / 2 / 0.5 >= b.ratio_uncertainty_percent);
    }
}

TEST_CASE("W1, W5: a tared cup is two readings, so sqrt(2) times as uncertain") {
    BatchRequest request = direct(150, {50, 100}, 1);
    request.weighing = Weighing::tared;
    CHECK_NEAR(batch(request).ratio_uncertainty_percent, 1.825742, 1e-6);  // W1
    CHECK_NEAR(batch(request).least_batch_g, 136.930639, 1e-8);            // foam_model.md FM10
    CHECK(BatchRequest{}.weighing == Weighing::tared);
    CHECK(parse_weighing("direct", "--weighing") == Weighing::direct);
    CHECK_THROWS_AS(static_cast<void>(parse_weighing("gross", "--weighing")), InvalidInput);
}

TEST_CASE("W5, T5: the least batch for a scale, and the scale for a batch") {
    CHECK_NEAR(pour(150, {50, 100}, 1).least_batch_g, 96.824584, 1e-7);
    CHECK_NEAR(pour(150, {30, 100}, 1).least_batch_g, 130.600465, 1e-7);
    // T5: below about 97 g at 1:2 a gram scale is too coarse, common practice, no source.
    CHECK(has(pour(75, {50, 100}, 1), "batch_too_small_for_scale"));
    CHECK(pour(75, {50, 100}, 1).scale_needed_g == 0.5);
    CHECK_FALSE(has(pour(99, {50, 100}, 1), "batch_too_small_for_scale"));
    CHECK_FALSE(has(pour(9.9, {50, 100}, 0.1), "batch_too_small_for_scale"));
    CHECK(pour(9.9, {50, 100}, 1).scale_needed_g == 0.1);
}

TEST_CASE("what stays in A's own cup is weighed on top of A (foam_model.md 5)") {
    BatchRequest request = direct(37.5, {50, 100}, 0.01);
    request.cup_residue_g = 0.5;
    const Batch b = batch(request);
    CHECK_NEAR(b.part_a_g, 13.0, 1e-12);
    CHECK_NEAR(b.part_b_g, 25.0, 1e-12);
    CHECK(std::abs(b.ratio_off_percent) < 1e-9);
    CHECK_NEAR(b.balance.residue_g, 0.5, 1e-15);
    // 0.5 g of 12.5 g is 4 %; a stated residue is taken to be known to half of itself.
    CHECK_NEAR(b.ratio_true_percent, std::hypot(b.ratio_uncertainty_percent, 0.5 * 4.0), 1e-9);
    CHECK_FALSE(has(b, "residue_matters"));
    CHECK(has(pour(37.5, {50, 100}, 0.01), "residue_matters"));
    CHECK_FALSE(has(pour(150, {50, 100}, 0.01), "residue_matters"));
}

TEST_CASE("waste as a film on the cup grows with the batch to the power of two thirds") {
    BatchRequest request = direct(30, {50, 100}, 0.01);
    request.waste_film = WasteFilm{3.0, 40.0};
    const Batch small = batch(request);
    CHECK_NEAR(small.waste_g, 3.0 * std::pow(small.pour_mass_g / 40.0, 2.0 / 3.0), 1e-12);
    CHECK_NEAR(small.pour_mass_g - small.waste_g, 30.0, 1e-12);
    // A pour of the very size at which it was seen.
    request.part_mass_g = 37;
    CHECK_NEAR(batch(request).pour_mass_g, 40.0, 1e-12);
    // Eight times the pour: four times the film.
    request.part_mass_g = 320 - 12;
    CHECK_NEAR(batch(request).waste_g, 12.0, 1e-12);
    request.waste_film = WasteFilm{41, 40};
    CHECK_THROWS_AS(static_cast<void>(batch(request)), InvalidInput);
}

TEST_CASE("the balance of one pour closes to 1e-9 g") {
    for (const bool film : {false, true}) {
        for (const double largest : {0.0, 55.0}) {
            BatchRequest request = direct(123.4, {37.87, 100}, 0.1);
            request.holes_g = 0.63;
            request.flash_g = 1.7;
            request.spare_g = 2.0;
            request.waste_share = 0.08;
            request.cup_residue_g = 0.4;
            request.pigment_share = 0.02;
            request.largest_g = largest;
            if (film) {
                request.waste_film = WasteFilm{2.2, 60};
            }
            const Batch b = batch(request);
            CHECK((largest == 0.0) == (b.cups_each == 1));
            CHECK(b.pour_mass_g <= (largest > 0.0 ? largest * (1 + 1e-9) : 1e9));
            CHECK(std::abs(b.balance.closes_to_g) < 1e-9);
            CHECK_NEAR(b.balance.part_a_g, b.cups_each * b.part_a_g, 1e-15);
            CHECK(b.balance.rounding_g >= -1e-3 * b.cups_each);
            CHECK(b.balance.rounding_g < 2 * 0.1 * b.cups_each + 1e-9);
        }
    }
}

TEST_CASE("a scale on which the mix would be another one is a stop") {
    CHECK(has(pour(37.5, {50, 100}, 453.6), "scale_too_coarse"));
    CHECK_FALSE(has(pour(37.5, {50, 100}, 1), "scale_too_coarse"));
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
            CHECK(std::abs(b.balance.closes_to_g) < 1e-9);
            CHECK_NEAR(b.total_a_g, 7 * b.part_a_g, 1e-15);
            before = b.part_a_g + b.part_b_g;
        }
    }
}

TEST_CASE("a pour far below the scale's step still gives one step of each") {
    const Batch tiny = pour(1e-6, {50, 100}, 1);
    CHECK(tiny.part_a_g == 1.0);
    CHECK(tiny.part_b_g == 1.0);
    CHECK(has(tiny, "scale_too_coarse"));
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
    CHECK(has(batch(request), "batch_too_small_for_scale"));
    CHECK(has(batch(request), "pigment_below_scale"));
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
    CHECK(has(b, "several_cups"));
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

TEST_CASE("a mass as the scale shows it, in its own unit (docs/checks.md U4)") {
    constexpr double kOunce = 28.349523125;
    CHECK(scale_text(12.5, 0.1, false) == "12.5 g");
    CHECK(scale_text(12.6, 1.0, false) == "13 g");
    CHECK(scale_text(9 * 0.05 * kOunce, 0.05 * kOunce, true) == "0.45 oz");
    CHECK(scale_text(3 * kOunce, kOunce, true) == "3 oz");
    CHECK(scale_text(1.5 * kOunce, 0.1 * kOunce, true) == "1.5 oz");
}
