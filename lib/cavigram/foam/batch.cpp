// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/batch.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

#include <fmt/core.h>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

void check(bool good, const char* what, double value, const char* remedy) {
    if (!good) {
        throw InvalidInput(fmt::format("{} is {}; give {}.", what, significant(value, 4), remedy));
    }
}

void validate(const BatchRequest& request) {
    check(request.part_mass_g > 0.0 && std::isfinite(request.part_mass_g), "The part's mass",
          request.part_mass_g, "more than 0 g");
    check(request.holes_g >= 0.0, "The foam in the holes", request.holes_g, "0 g or more");
    check(request.flash_g >= 0.0, "The flash", request.flash_g, "0 g or more");
    check(request.cup_residue_g >= 0.0 && request.cup_residue_g <= 0.5 * request.part_mass_g,
          "What stays in A's cup", request.cup_residue_g, "0 g or more, and less than the part");
    if (request.waste_film) {
        const WasteFilm& film = *request.waste_film;
        check(film.of_g > 0.0, "The cup that the residue was seen in", film.of_g, "more than 0 g");
        check(film.stays_g >= 0.0 && film.stays_g <= 0.9 * film.of_g, "What stays in the cup",
              film.stays_g, "0 to 90 % of that cup");
    }
    check(request.spare_g >= 0.0, "The spare", request.spare_g, "0 g or more");
    check(request.waste_share >= 0.0 && request.waste_share <= 0.9, "The waste share",
          request.waste_share, "0 to 90 %");
    check(request.pigment_share >= 0.0 && request.pigment_share <= 0.5, "The pigment share",
          request.pigment_share, "0 to 50 % of part B");
    check(request.scale_readability_g > 0.0, "The scale's step", request.scale_readability_g,
          "the smallest step it shows, such as 1g or 0.1g");
    check(request.largest_g >= 0.0, "The largest batch", request.largest_g, "more than 0 g");
    check(request.copies >= 1 && request.copies <= 100000, "The number of copies", request.copies,
          "1 or more");
}

// A reading to a step d has the standard uncertainty d / sqrt(12) (rectangular, half width d/2); a
// tared one is the difference of two.
double reading_g(const BatchRequest& request, double step_g) {
    return step_g / std::sqrt(request.weighing == Weighing::tared ? 6.0 : 12.0);
}

// With r = A/B and total m: A = m r/(1+r), B = m/(1+r), so the doubled uncertainty is 2u (1+r)
// sqrt(1 + 1/r^2) / m.
double least_batch_g(const BatchRequest& request, double step_g) {
    const double r = request.mix.a / request.mix.b;
    return 2.0 * reading_g(request, step_g) * (1.0 + r) * std::sqrt(1.0 + 1.0 / (r * r)) /
           (kGoodRatioPercent / 100.0);
}

// The gross pour of one cup that gives up `need`. With the film k m^(2/3) and u = m^(1/3):
// u^3 - k u^2 - need = 0, by Newton's method from u = k + need^(1/3), where the left side is
// positive and beyond its turning point, so that the steps only go down to the root.
double gross_g(const BatchRequest& request, double need_g) {
    if (!request.waste_film) {
        return need_g / (1.0 - request.waste_share);
    }
    const double k = request.waste_film->stays_g / std::pow(request.waste_film->of_g, 2.0 / 3.0);
    double u = k + std::cbrt(need_g);
    for (int i = 0; i < 100; ++i) {
        const double step = (u * u * (u - k) - need_g) / (u * (3.0 * u - 2.0 * k));
        u -= step;
        if (std::abs(step) <= 1e-16 * u) {
            break;
        }
    }
    return u * u * u;
}

double waste_g(const BatchRequest& request, double gross_g) {
    return request.waste_film ? request.waste_film->stays_g *
                                    std::pow(gross_g / request.waste_film->of_g, 2.0 / 3.0)
                              : request.waste_share * gross_g;
}

// Multiples of the step whose sum is the pour or up to two steps more, with the truest ratio; of
// equally true ones the least. What stays in A's cup is weighed on top of A.
void round_to_scale(Batch& batch, const BatchRequest& request) {
    const double d = batch.scale_readability_g;
    const MixRatio& mix = request.mix;
    const double residue = request.cup_residue_g;
    const double a = batch.pour_mass_g * mix.a / (mix.a + mix.b) + residue;
    const double b = batch.pour_mass_g * mix.b / (mix.a + mix.b);
    const double wanted = mix.a / mix.b;
    // A thousandth of a step of forgiveness: 50 g at 0.1 g is 500 steps and not 501.
    const double slack = 1e-3;
    double best = std::numeric_limits<double>::infinity();
    const double a_steps = std::floor(a / d + slack);
    const double b_steps = std::floor(b / d + slack);
    for (const double i : {a_steps, a_steps + 1.0}) {
        for (const double j : {b_steps, b_steps + 1.0, b_steps + 2.0}) {
            const double over = i + j - (batch.pour_mass_g + residue) / d;
            const bool least = i == 1.0 && j == 1.0;  // less than that no scale can show
            const double net_a = i * d - residue;
            if (!(net_a > 0.0) || j < 1.0 || over < -slack || (over > 2.0 - slack && !least)) {
                continue;
            }
            const double off = std::abs(net_a / (j * d) / wanted - 1.0);
            if (off < best - 1e-9) {
                best = off;
                batch.part_a_g = i * d;
                batch.part_b_g = j * d;
                batch.ratio_off_percent = 100.0 * (net_a / (j * d) / wanted - 1.0);
            }
        }
    }
    if (best == std::numeric_limits<double>::infinity()) {
        throw InvalidInput(
            fmt::format("A scale that shows {} g can't weigh this pour of {} g; use a finer one.",
                        significant(d, 3), significant(batch.pour_mass_g, 3)));
    }
}

double scale_needed_g(const BatchRequest& request, double pour_g) {
    constexpr std::array kSteps = {10.0, 5.0, 2.0,  1.0,  0.5,
                                   0.2,  0.1, 0.05, 0.02, 0.01};  // as scales are sold
    for (const double step : kSteps) {
        if (least_batch_g(request, step) <= pour_g) {
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

// Cups for one pour, each with what it needs and wastes.
void settle_cups(Batch& batch, const BatchRequest& request) {
    const double need_g = request.part_mass_g + request.holes_g + request.flash_g + request.spare_g;
    batch.pour_mass_g = gross_g(request, need_g);
    constexpr int kMostCups = 1000;
    // Smaller cups waste more, so that a few more may be needed than the first quotient says.
    while (request.largest_g > 0.0 && batch.pour_mass_g > request.largest_g * (1.0 + 1e-9)) {
        const int cups = static_cast<int>(
            std::min(2.0 * kMostCups,
                     std::ceil(batch.cups_each * batch.pour_mass_g / request.largest_g - 1e-9)));
        batch.cups_each = std::max(batch.cups_each + 1, cups);
        if (batch.cups_each > kMostCups) {
            throw InvalidInput(fmt::format(
                "The largest batch is {} g; give a larger one: the pour would take more than a "
                "thousand cups.",
                significant(request.largest_g, 3)));
        }
        batch.pour_mass_g = gross_g(request, need_g / batch.cups_each);
    }
    batch.waste_g = waste_g(request, batch.pour_mass_g);
}

void settle_pigment(Batch& batch, const BatchRequest& request) {
    const double step = request.scale_readability_g;
    batch.pigment_g = std::round(request.pigment_share * batch.part_b_g / step) * step;
    if (request.pigment_share > 0.0 && batch.pigment_g == 0.0) {
        batch.pigment_g = request.pigment_share * batch.part_b_g;
        batch.findings.push_back(
            {Severity::warning,
             "pigment_below_scale",
             fmt::format("The pigment ({}) is less than the scale shows; weigh "
                         "it on a finer scale or count drops.",
                         told_own(batch.pigment_g, Kind::mass, 2)),
             {}});
    }
}

void settle_truth(Batch& batch, const BatchRequest& request) {
    const double net_a = batch.part_a_g - request.cup_residue_g;
    const double reading = reading_g(request, request.scale_readability_g);
    batch.ratio_uncertainty_percent =
        200.0 * reading * std::hypot(1.0 / net_a, 1.0 / batch.part_b_g);
    const double residue_percent = 100.0 * kResidueSpread * request.cup_residue_g / net_a;
    batch.ratio_true_percent =
        std::hypot(batch.ratio_uncertainty_percent, batch.ratio_off_percent, residue_percent);
    batch.least_batch_g = least_batch_g(request, request.scale_readability_g);
    batch.scale_needed_g = scale_needed_g(request, batch.pour_mass_g);
}

Balance balance_of(const Batch& batch, const BatchRequest& request) {
    Balance b;
    const double cups = batch.cups_each;
    b.part_g = request.part_mass_g;
    b.holes_g = request.holes_g;
    b.flash_g = request.flash_g;
    b.spare_g = request.spare_g;
    b.waste_g = cups * batch.waste_g;
    b.residue_g = cups * request.cup_residue_g;
    b.pigment_g = cups * batch.pigment_g;
    b.part_a_g = cups * batch.part_a_g;
    b.part_b_g = cups * batch.part_b_g;
    const double whole = request.mix.a + request.mix.b;
    b.rounding_g =
        cups *
        ((batch.part_a_g - request.cup_residue_g - batch.pour_mass_g * request.mix.a / whole) +
         (batch.part_b_g - batch.pour_mass_g * request.mix.b / whole));
    b.closes_to_g = b.part_a_g + b.part_b_g + b.pigment_g -
                    (b.part_g + b.holes_g + b.flash_g + b.spare_g + b.waste_g + b.residue_g +
                     b.rounding_g + b.pigment_g);
    return b;
}

// What a scale shows is told in grams, as it will be read there.
void note(Batch& batch, const BatchRequest& request) {
    if (batch.cups_each > 1) {
        batch.findings.push_back(
            {Severity::warning,
             "several_cups",
             fmt::format(
                 "Each pour is split into {} cups, so that each can be stirred and poured in "
                 "time; a joint will show between them.",
                 batch.cups_each),
             {}});
    }
    const auto on_scale = [&](double g) {
        return request.scale_in_ounces ? scale_text(g, request.scale_readability_g, true)
                                       : fmt::format("{:g} g", g);
    };
    if (std::abs(batch.ratio_off_percent) > kWorstRatioPercent) {
        batch.findings.push_back(
            {Severity::stop,
             "scale_too_coarse",
             fmt::format("On a scale that shows {} the nearest to {:.4g}:{:.4g} is {} and "
                         "{}, {} % "
                         "off; use one that shows {:g} g, or pour at least {} at once.",
                         on_scale(request.scale_readability_g), request.mix.a, request.mix.b,
                         on_scale(batch.part_a_g), on_scale(batch.part_b_g),
                         significant(std::abs(batch.ratio_off_percent), 2), batch.scale_needed_g,
                         told_own(batch.least_batch_g, Kind::mass, 3)),
             {}});
    } else if (batch.pour_mass_g < batch.least_batch_g) {
        batch.findings.push_back(
            {Severity::warning,
             "batch_too_small_for_scale",
             fmt::format(
                 "A scale that shows {} weighs this pour's ratio only to {} %: use a scale "
                 "that shows {:g} g, or pour at least {} at once, as several copies from one "
                 "cup.",
                 on_scale(request.scale_readability_g),
                 significant(batch.ratio_uncertainty_percent, 2), batch.scale_needed_g,
                 told_own(batch.least_batch_g, Kind::mass, 3)),
             {}});
    }
    const double share = 100.0 * kUsualResidue_g / batch.part_a_g;
    if (request.cup_residue_g == 0.0 && share > kGoodRatioPercent) {
        batch.findings.push_back(
            {Severity::note,
             "residue_matters",
             fmt::format(
                 "What stays in A's own cup is missing in the mix: {:g} g would be {} % of A "
                 "here; weigh A into B's cup, or weigh A's empty cup afterwards and give {}.",
                 kUsualResidue_g, significant(share, 2), setting("cup-residue")),
             {}});
    }
}

}  // namespace

const char* to_text(Weighing weighing) {
    return weighing == Weighing::tared ? "tared" : "direct";
}

Weighing parse_weighing(std::string_view text, std::string_view name) {
    return parse_choice<Weighing>(text, name, {Weighing::tared, Weighing::direct});
}

std::string scale_text(double g, double step_g, bool in_ounces) {
    const double unit = in_ounces ? kScaleOunce_g : 1.0;
    const int places = std::max(0, static_cast<int>(std::ceil(-std::log10(step_g / unit) - 1e-9)));
    return fmt::format("{:.{}f} {}", g / unit, places, in_ounces ? "oz" : "g");
}

Batch batch(const BatchRequest& request) {
    validate(request);
    Batch result;
    result.request = request;
    result.scale_readability_g = request.scale_readability_g;
    result.scale_in_ounces = request.scale_in_ounces;
    result.spare_g = request.spare_g;
    settle_cups(result, request);
    round_to_scale(result, request);
    settle_pigment(result, request);
    settle_truth(result, request);
    result.liquid_ml =
        (result.part_a_g - request.cup_residue_g + result.part_b_g) / request.liquid_kg_m3 * 1000.0;
    const double risen_waste_ml = result.waste_g / request.free_rise_kg_m3 * 1000.0;
    result.cup_ml = std::ceil(std::max(2.0 * result.liquid_ml, risen_waste_ml) / 10.0) * 10.0;
    result.batches = request.copies * result.cups_each;
    result.total_a_g = result.batches * result.part_a_g;
    result.total_b_g = result.batches * result.part_b_g;
    result.total_pigment_g = result.batches * result.pigment_g;
    settle_kit(result, request);
    result.balance = balance_of(result, request);
    note(result, request);
    return result;
}

}  // namespace cavigram
