// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/foam/kinetics.h"

#include <cmath>
#include <numbers>

#include "cavigram/core/error.h"
#include "cavigram/core/text.h"

namespace cavigram {

namespace {

constexpr double kGas_j_mol_k = 8.314462618;  // CODATA 2018, exact
constexpr double kZeroCelsius_k = 273.15;
constexpr double kRisen = 0.98;

double inverse_step(double from_c, double to_c) {
    return 1.0 / (from_c + kZeroCelsius_k) - 1.0 / (to_c + kZeroCelsius_k);
}

}  // namespace

double time_at_temperature_s(double time_s, double known_at_c, double wanted_at_c,
                             const TemperatureRule& rule) {
    if (std::abs(wanted_at_c - known_at_c) > kTrustedStep_k) {
        throw InvalidInput(
            format("The foam's times are known at %s C and can't be carried over to %s C, more "
                   "than %g degrees away; "
                   "measure them there.",
                   significant(known_at_c, 3).c_str(), significant(wanted_at_c, 3).c_str(),
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
        throw InvalidInput(
            format("%s s at %s C and %s s at %s C contradict each other: warmer must be faster; "
                   "correct one.",
                   significant(first_s, 3).c_str(), significant(first_at_c, 3).c_str(),
                   significant(second_s, 3).c_str(), significant(second_at_c, 3).c_str()));
    }
    return {.halving_k = halving, .activation_kj_mol = std::nullopt};
}

double activation_for_speedup_kj_mol(double from_c, double to_c, double factor) {
    return std::log(factor) * kGas_j_mol_k / inverse_step(from_c, to_c) / 1000.0;
}

double speedup(double activation_kj_mol, double from_c, double to_c) {
    return std::exp(1000.0 * activation_kj_mol / kGas_j_mol_k * inverse_step(from_c, to_c));
}

// V/Vf = exp(-b exp(-c t)) = 0.98 at t: c = ln(b / -ln 0.98) / t.
GompertzRise::GompertzRise(double expansion, double risen_s)
    : b_(std::log(expansion)), c_(std::log(b_ / -std::log(kRisen)) / risen_s) {
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

}  // namespace cavigram
