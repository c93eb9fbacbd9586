// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/batch.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

void check(bool good, const char* what, double value, const char* remedy) {
    if (!good) {
        throw InvalidInput(
            format("%s is %s; give %s.", what, significant(value, 4).c_str(), remedy));
    }
}

void validate(const BatchRequest& request) {
    check(request.part_mass_g > 0.0 && std::isfinite(request.part_mass_g), "The part's mass",
          request.part_mass_g, "more than 0 g");
    check(request.spare_g >= 0.0, "The spare", request.spare_g, "0 g or more");
    check(request.waste_share >= 0.0 && request.waste_share <= 0.9, "The waste share",
          request.waste_share, "0 to 90 %");
    check(request.pigment_share >= 0.0 && request.pigment_share <= 0.5, "The pigment share",
          request.pigment_share, "0 to 50 % of part B");
    check(request.scale_readability_g > 0.0, "The scale's step", request.scale_readability_g,
          "the smallest step it shows, such as 1g or 0.1g");
    check(request.largest_g >= 0.0, "The largest batch", request.largest_g, "more than 0 g");
    check(request.largest_g == 0.0 || request.part_mass_g / request.largest_g < 1000.0,
          "The largest batch", request.largest_g,
          "a larger one: the pour would take more than a thousand cups");
    check(request.copies >= 1 && request.copies <= 100000, "The number of copies", request.copies,
          "1 or more");
}

// Relative standard uncertainty of A/B when each is read to a step d (rectangular distribution of
// half width d/2).
double ratio_uncertainty(double a_g, double b_g, double step_g) {
    return step_g / std::sqrt(12.0) * std::hypot(1.0 / a_g, 1.0 / b_g);
}

// With r = A/B and total m: A = m r/(1+r), B = m/(1+r), so the doubled uncertainty is (2d/sqrt 12)
// (1+r) sqrt(1 + 1/r^2) / m.
double least_batch_g(const MixRatio& mix, double step_g) {
    const double r = mix.a / mix.b;
    return 2.0 * step_g / std::sqrt(12.0) * (1.0 + r) * std::sqrt(1.0 + 1.0 / (r * r)) /
           (kGoodRatioPercent / 100.0);
}

// Multiples of the step whose sum is the pour or up to two steps more, with the truest ratio; of
// equally true ones the least.
void round_to_scale(Batch& batch, const MixRatio& mix) {
    const double d = batch.scale_readability_g;
    const double a = batch.pour_mass_g * mix.a / (mix.a + mix.b);
    const double b = batch.pour_mass_g * mix.b / (mix.a + mix.b);
    const double wanted = mix.a / mix.b;
    // A thousandth of a step of forgiveness: 50 g at 0.1 g is 500 steps and not 501.
    const double slack = 1e-3;
    double best = std::numeric_limits<double>::infinity();
    const double a_steps = std::floor(a / d + slack);
    const double b_steps = std::floor(b / d + slack);
    for (const double i : {a_steps, a_steps + 1.0}) {
        for (const double j : {b_steps, b_steps + 1.0, b_steps + 2.0}) {
            const double over = i + j - batch.pour_mass_g / d;
            const bool least = i == 1.0 && j == 1.0;  // less than that no scale can show
            if (i < 1.0 || j < 1.0 || over < -slack || (over > 2.0 - slack && !least)) {
                continue;
            }
            const double off = std::abs(i / j / wanted - 1.0);
            if (off < best - 1e-9) {
                best = off;
                batch.part_a_g = i * d;
                batch.part_b_g = j * d;
                batch.ratio_off_percent = 100.0 * (i / j / wanted - 1.0);
            }
        }
    }
}

double scale_needed_g(const MixRatio& mix, double pour_g) {
    constexpr std::array kSteps = {10.0, 5.0, 2.0,  1.0,  0.5,
                                   0.2,  0.1, 0.05, 0.02, 0.01};  // as scales are sold
    for (const double step : kSteps) {
        if (least_batch_g(mix, step) <= pour_g) {
            return step;
        }
    }
    return kSteps.back();
}

// A kit is used up when its first side is.
void settle_kit(Batch& batch, const BatchRequest& request) {
    if (request.kit_a_g <= 0.0 || request.kit_b_g <= 0.0) {
        return;
    }
    const double a = batch.cups_each * batch.part_a_g;
    const double b = batch.cups_each * batch.part_b_g;
    batch.copies_per_kit = std::min(request.kit_a_g / a, request.kit_b_g / b);
    batch.cost_per_copy = request.kit_price / batch.copies_per_kit;
}

}  // namespace

Batch batch(const BatchRequest& request) {
    validate(request);
    Batch result;
    result.request = request;
    result.scale_readability_g = request.scale_readability_g;
    result.spare_g = request.spare_g;
    result.pour_mass_g = (request.part_mass_g + request.spare_g) / (1.0 - request.waste_share);
    result.waste_g = result.pour_mass_g * request.waste_share;
    if (request.largest_g > 0.0) {
        result.cups_each =
            static_cast<int>(std::ceil(result.pour_mass_g / request.largest_g - 1e-9));
    }
    result.pour_mass_g /= result.cups_each;
    result.waste_g /= result.cups_each;
    round_to_scale(result, request.mix);
    result.ratio_uncertainty_percent =
        200.0 * ratio_uncertainty(result.part_a_g, result.part_b_g, request.scale_readability_g);
    result.least_batch_g = least_batch_g(request.mix, request.scale_readability_g);
    result.scale_needed_g = scale_needed_g(request.mix, result.pour_mass_g);
    const double step = request.scale_readability_g;
    result.pigment_g = std::round(request.pigment_share * result.part_b_g / step) * step;
    if (request.pigment_share > 0.0 && result.pigment_g == 0.0) {
        result.pigment_g = request.pigment_share * result.part_b_g;
        result.findings.push_back({Severity::warning,
                                   "pigment_below_scale",
                                   format("The pigment (%s g) is less than the scale shows; weigh "
                                          "it on a finer scale or count drops.",
                                          significant(result.pigment_g, 2).c_str()),
                                   {}});
    }
    result.liquid_ml = (result.part_a_g + result.part_b_g) / request.liquid_kg_m3 * 1000.0;
    const double risen_waste_ml = result.waste_g / request.free_rise_kg_m3 * 1000.0;
    result.cup_ml = std::ceil(std::max(2.0 * result.liquid_ml, risen_waste_ml) / 10.0) * 10.0;
    result.batches = request.copies * result.cups_each;
    result.total_a_g = result.batches * result.part_a_g;
    result.total_b_g = result.batches * result.part_b_g;
    result.total_pigment_g = result.batches * result.pigment_g;
    settle_kit(result, request);
    if (result.cups_each > 1) {
        result.findings.push_back(
            {Severity::warning,
             "several_cups",
             format("Each pour is split into %d cups, so that each can be stirred and poured in "
                    "time; a joint will show between them.",
                    result.cups_each),
             {}});
    }
    if (result.pour_mass_g < result.least_batch_g) {
        result.findings.push_back(
            {Severity::warning,
             "batch_too_small_for_scale",
             format("A scale that shows %g g weighs this pour's ratio only to %s %%: use a scale "
                    "that shows %g g, or pour at least %s g at "
                    "once.",
                    step, significant(result.ratio_uncertainty_percent, 2).c_str(),
                    result.scale_needed_g, significant(result.least_batch_g, 3).c_str()),
             {}});
    }
    return result;
}

}  // namespace cavigram
