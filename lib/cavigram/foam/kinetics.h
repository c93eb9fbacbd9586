// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

namespace cavigram {

/// How a time shrinks as it gets warmer. One of three ways of knowing.
struct TemperatureRule {
    /// Warming by so many kelvins halves every time. 10: the common rule of thumb (common practice,
    /// no source).
    double halving_k = 10.0;
    /// Activation energy in kJ/mol; when given, Arrhenius' law instead of the rule of thumb.
    std::optional<double> activation_kj_mol;
};

/// Farther than this from where a time was measured, neither law is to be trusted.
inline constexpr double kTrustedStep_k = 15.0;

/// A time known at one temperature, at another. Arrhenius: t exp((E/R)(1/T - 1/T0)); rule of thumb:
/// t 2^((T0 - T)/halving). checks.md E16-E19. \throw InvalidInput when the temperatures are more
/// than kTrustedStep_k apart
[[nodiscard]] double time_at_temperature_s(double time_s, double known_at_c, double wanted_at_c,
                                           const TemperatureRule& rule = {});

/// The rule that two measured times give: the halving step of the exponential through them. \throw
/// InvalidInput if they are at one temperature, or the warmer one is not the shorter
[[nodiscard]] TemperatureRule rule_through(double first_s, double first_at_c, double second_s,
                                           double second_at_c);

/// Activation energy at which a warming from `from_c` to `to_c` multiplies speed by `factor`
/// (checks.md E16).
[[nodiscard]] double activation_for_speedup_kj_mol(double from_c, double to_c, double factor);

/// How much faster a reaction of this activation energy runs at `to_c` than at `from_c` (checks.md
/// E17).
[[nodiscard]] double speedup(double activation_kj_mol, double from_c, double to_c);

/// A rise from the liquid's volume to `expansion` times that, along a Gompertz curve V/Vf = exp(-b
/// exp(-c t)) with b = ln(expansion), so that it begins at the liquid's volume. checks.md E13.
class GompertzRise {
  public:
    /// 98 % of the final volume at `risen_s`. \pre expansion > 1, risen_s > 0
    GompertzRise(double expansion, double risen_s);

    /// Share of the final volume at time t.
    [[nodiscard]] double filled_share(double t_s) const;
    /// (dV/dt)/V at time t, in 1/s: how fast each bit of foam grows.
    [[nodiscard]] double growth_per_s(double t_s) const;
    /// Where it grows fastest, ln(b)/c, at a share 1/e; 0 if it is fastest at the start.
    [[nodiscard]] double steepest_s() const;
    /// dV/dt there, in shares of the final volume a second.
    [[nodiscard]] double steepest_share_per_s() const;
    [[nodiscard]] double b() const { return b_; }
    [[nodiscard]] double c_per_s() const { return c_; }

  private:
    double b_ = 0.0;
    double c_ = 0.0;
};

}  // namespace cavigram
