// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/kinetics.h"

#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/core.h>

#include "cavigram/core/constants.h"
#include "cavigram/core/error.h"
#include "cavigram/core/text.h"
#include "cavigram/core/told.h"

namespace cavigram {

namespace {

double inverse_step(double from_c, double to_c) {
    return 1.0 / (from_c + kZeroCelsius_k) - 1.0 / (to_c + kZeroCelsius_k);
}

// What makes a curve of V/Vf a straight line in time, and back.
double straightened(RiseCurve curve, double share) {
    switch (curve) {
        case RiseCurve::gompertz:
            return -std::log(-std::log(share));
        case RiseCurve::first_order:
            return -std::log1p(-share);
        case RiseCurve::logistic:
            return std::log(share / (1.0 - share));
    }
    return 0.0;
}

double curved(RiseCurve curve, double straight) {
    switch (curve) {
        case RiseCurve::gompertz:
            return std::exp(-std::exp(-straight));
        case RiseCurve::first_order:
            return -std::expm1(-straight);
        case RiseCurve::logistic:
            return 1.0 / (1.0 + std::exp(-straight));
    }
    return 0.0;
}

}  // namespace

double time_at_temperature_s(double time_s, double known_at_c, double wanted_at_c,
                             const TemperatureRule& rule) {
    if (std::abs(wanted_at_c - known_at_c) > kTrustedStep_k) {
        throw InvalidInput(fmt::format(
            "The foam's times are known at {} and can't be carried over to {}, more than {:g} "
            "kelvins away; measure them there.",
            told_own(known_at_c, Kind::temperature, 3), told_own(wanted_at_c, Kind::temperature, 3),
            kTrustedStep_k));
    }
    if (rule.activation_kj_mol) {
        return time_s * std::exp(-1000.0 * *rule.activation_kj_mol / kGas_j_mol_k *
                                 inverse_step(known_at_c, wanted_at_c));
    }
    return time_s * std::exp2((known_at_c - wanted_at_c) / rule.halving_k);
}

TemperatureRule rule_through(double first_s, double first_at_c, double second_s,
                             double second_at_c) {
    // second/first = 2^((T1 - T2)/h), so h = (T1 - T2) ln 2 / ln(second/first).
    const double halving =
        (first_at_c - second_at_c) * std::numbers::ln2 / std::log(second_s / first_s);
    if (!(halving > 0.0) || !std::isfinite(halving)) {
        throw InvalidInput(fmt::format(
            "{} s at {} and {} s at {} contradict each other: warmer must be faster; correct one.",
            significant(first_s, 3), told_own(first_at_c, Kind::temperature, 3),
            significant(second_s, 3), told_own(second_at_c, Kind::temperature, 3)));
    }
    return {.halving_k = halving, .activation_kj_mol = std::nullopt};
}

// V/Vf = exp(-b exp(-c t)) = 0.98 at t: c = ln(b / -ln 0.98) / t.
GompertzRise::GompertzRise(double expansion, double risen_s)
    : b_(std::log(expansion)), c_(std::log(b_ / -std::log(kRisenShare)) / risen_s) {
    CAVIGRAM_ASSERT(expansion > 1.0 && risen_s > 0.0);
}

double GompertzRise::filled_share(double t_s) const {
    return std::exp(-b_ * std::exp(-c_ * t_s));
}

double GompertzRise::growth_per_s(double t_s) const {
    return b_ * c_ * std::exp(-c_ * t_s);
}

double GompertzRise::steepest_s() const {
    return b_ > 1.0 ? std::log(b_) / c_ : 0.0;
}

double GompertzRise::steepest_share_per_s() const {
    const double t = steepest_s();
    return growth_per_s(t) * filled_share(t);
}

const char* to_text(RiseCurve curve) {
    switch (curve) {
        case RiseCurve::gompertz:
            return "gompertz";
        case RiseCurve::first_order:
            return "first_order";
        case RiseCurve::logistic:
            return "logistic";
    }
    return "gompertz";
}

RiseCurve parse_rise_curve(std::string_view text, std::string_view name) {
    return parse_choice<RiseCurve>(
        text, name, {RiseCurve::gompertz, RiseCurve::first_order, RiseCurve::logistic});
}

RiseClock::RiseClock(const RiseTimes& times) : times_(times) {
    if (!(times.work_s > 0.0) || !(times.risen_s > times.work_s) || !std::isfinite(times.risen_s)) {
        throw InvalidInput(fmt::format(
            "The foam's rise time of {} s does not come after its work time of {} s; both "
            "count from the start of stirring: correct the foam card.",
            significant(times.risen_s, 3), significant(times.work_s, 3)));
    }
    if (!(times.expansion * kRisenShare > 1.0) || !std::isfinite(times.expansion)) {
        throw InvalidInput(fmt::format(
            "The foam's expansion is {} times its liquid, which is no rise that could be "
            "timed; give the free-rise density and those of the liquids in one unit.",
            significant(times.expansion, 3)));
    }
    start_ = straightened(times.curve, 1.0 / times.expansion);
    rate_ = (straightened(times.curve, kRisenShare) - start_) / (times.risen_s - times.work_s);
}

double RiseClock::filled_share(double t_s) const {
    return t_s <= times_.work_s ? 1.0 / times_.expansion
                                : curved(times_.curve, start_ + rate_ * (t_s - times_.work_s));
}

double RiseClock::reached_s(double share) const {
    if (share * times_.expansion <= 1.0) {
        return times_.work_s;
    }
    if (share >= 1.0) {
        return std::numeric_limits<double>::infinity();
    }
    return times_.work_s + (straightened(times_.curve, share) - start_) / rate_;
}

double RiseClock::filled_by_s(double share) const {
    return share < kRisenShare ? reached_s(share) : times_.risen_s;
}

// With m = (E - 1)/(r - 1), which goes to z as r goes to 1: r (E - 1)/(r E - 1) = r m/(r m + 1).
double second_order_conversion(double ratio, double k_c0_t) {
    CAVIGRAM_ASSERT(ratio > 0.0 && k_c0_t >= 0.0);
    const double surplus = ratio - 1.0;
    const double m = surplus == 0.0 ? k_c0_t : std::expm1(surplus * k_c0_t) / surplus;
    return ratio * m / (ratio * m + 1.0);
}

}  // namespace cavigram
