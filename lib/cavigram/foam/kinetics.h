// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>
#include <string_view>

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
/// t 2^((T0 - T)/halving). checks.md E16-E19.
///
/// \throw InvalidInput when the temperatures are more than kTrustedStep_k apart
[[nodiscard]] double time_at_temperature_s(double time_s, double known_at_c, double wanted_at_c,
                                           const TemperatureRule& rule = {});

/// The rule that two measured times give: the halving step of the exponential through them.
///
/// \throw InvalidInput if they are at one temperature, or the warmer one is not the shorter
[[nodiscard]] TemperatureRule rule_through(double first_s, double first_at_c, double second_s,
                                           double second_at_c);

/// A rise from the liquid's volume to `expansion` times that, along a Gompertz curve V/Vf = exp(-b
/// exp(-c t)) with b = ln(expansion), so that it begins at the liquid's volume. checks.md E13.
class GompertzRise {
  public:
    /// 98 % of the final volume at `risen_s`.
    ///
    /// \pre expansion > 1, risen_s > 0
    GompertzRise(double expansion, double risen_s);

    /// Share of the final volume at time t.
    [[nodiscard]] double filled_share(double t_s) const;
    /// (dV/dt)/V at time t, in 1/s: how fast each bit of foam grows.
    [[nodiscard]] double growth_per_s(double t_s) const;
    /// Where it grows fastest, ln(b)/c, at a share 1/e; 0 if it is fastest at the start.
    [[nodiscard]] double steepest_s() const;
    /// dV/dt there, in shares of the final volume a second.
    [[nodiscard]] double steepest_share_per_s() const;
    /// ln(expansion).
    [[nodiscard]] double b() const { return b_; }
    /// The rate c of the curve.
    [[nodiscard]] double c_per_s() const { return c_; }

  private:
    double b_ = 0.0;
    double c_ = 0.0;
};

/// The share of the final volume at which the foam counts as risen, whatever the curve.
inline constexpr double kRisenShare = 0.98;

/// How the volume V goes from the liquid's, V0, to the final one, Vf. checks.md section 4.
enum class RiseCurve {
    gompertz,     ///< V = Vf exp(-b e^(-c t)): slow, fast, slow. The default.
    first_order,  ///< V = Vf - (Vf - V0) e^(-k t): fastest at once. E12.
    logistic,     ///< V = Vf / (1 + e^(-(t - tm)/tau)): as slow to begin as to end. E14.
};

/// The word for a curve: `gompertz`, `first_order`, `logistic`.
[[nodiscard]] const char* to_text(RiseCurve curve);
/// The way back.
///
/// \throw InvalidInput naming the three words
[[nodiscard]] RiseCurve parse_rise_curve(std::string_view text, std::string_view name);

/// What a rise is timed by. All times count from the start of stirring, as those of ASTM D7487 do.
struct RiseTimes {
    double work_s = 30.0;                   ///< Until it begins to foam.
    double risen_s = 120.0;                 ///< Until it has kRisenShare of its final volume.
    double expansion = 8.4;                 ///< Final volume of the foam over that of its liquid.
    RiseCurve curve = RiseCurve::gompertz;  ///< Along which it rises.

    /// Field by field.
    friend bool operator==(const RiseTimes&, const RiseTimes&) = default;
};

/// The rise on the clock that starts with the stirring: liquid until the end of the work time,
/// kRisenShare at the time of rise.
///
/// Each curve is a straight line in time once its share x = V/Vf is straightened by a function g:
/// -ln(-ln x) for Gompertz, -ln(1 - x) for first order, ln(x/(1 - x)) for logistic. So
///     g(x(t)) = g(1/expansion) + rate (t - work),
///     rate = (g(kRisenShare) - g(1/expansion)) / (risen - work),
/// and both ways are closed. For Gompertz that is b = ln(expansion), c = rate = ln(b / -ln 0.98) /
/// (risen - work). foam_model.md section 4, FM6, FM7.
///
/// O(1).
class RiseClock {
  public:
    /// \throw InvalidInput if the rise does not come after the work time, or the foam does not rise
    /// to more than 1/kRisenShare times its liquid
    explicit RiseClock(const RiseTimes& times);

    /// V/Vf at a time; that of the liquid until the end of the work time.
    [[nodiscard]] double filled_share(double t_s) const;
    /// When a share of the final volume is reached: the end of the work time for what the liquid
    /// fills already, infinity from 1 on.
    [[nodiscard]] double reached_s(double share) const;
    /// When foam whose final volume is Vf fills a room of `share` times Vf, for a person to act on:
    /// as reached_s, but the end of the rise from kRisenShare on, where the curves creep toward a
    /// volume that they never reach.
    [[nodiscard]] double filled_by_s(double share) const;
    /// Of the straightened curve, in 1/s.
    [[nodiscard]] double rate_per_s() const { return rate_; }
    /// What it was made of.
    [[nodiscard]] const RiseTimes& times() const { return times_; }

  private:
    RiseTimes times_;
    double start_ = 0.0;  // g(1/expansion)
    double rate_ = 0.0;
};

/// Conversion of a second-order reaction at constant temperature, with `ratio` equivalents of the
/// one group for each of the other, whose conversion it is: dX/dz = (1 - X)(ratio - X) with z = k
/// c0 t. checks.md E15: X = r (E - 1)/(r E - 1), E = e^((r - 1) z), and z/(1 + z) for r = 1. To be
/// used by the stage that follows the rise in space.
///
/// \pre ratio > 0, z >= 0
[[nodiscard]] double second_order_conversion(double ratio, double k_c0_t);

}  // namespace cavigram
