// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <optional>

#include "cavigram/foam/kinetics.h"

namespace cavigram {

/// How the foam grows and thickens, on the clock that starts with the stirring.
struct RiseCourseOptions {
    RiseTimes times;              ///< The curve of the rise at today's temperature.
    double viscosity_pa_s = 1.0;  ///< Of the liquid at the end of the work time.
    /// When it runs no more. None: the time of rise, a guess (common practice, no source).
    std::optional<double> gel_s = {};

    /// Field by field.
    friend bool operator==(const RiseCourseOptions&, const RiseCourseOptions&) = default;
};

/// The rise in time as one function each for volume, growth and viscosity. O(1).
class RiseCourse {
  public:
    /// \throw InvalidInput as RiseClock, for a viscosity that is not above 0, and for a gel time
    /// that does not come after the work time
    explicit RiseCourse(const RiseCourseOptions& options);

    /// Volume over that of the liquid; at the gel time it stops.
    [[nodiscard]] double expansion(double t_s) const;
    /// (dV/dt)/V in 1/s: 0 before the work time is over and after the gel time. docs/checks.md F9
    [[nodiscard]] double growth_per_s(double t_s) const;
    /// When it has so many times the liquid's volume; infinity if it never has.
    [[nodiscard]] double reached_s(double expansion) const;
    /// mu0 ((t_gel - t_w)/(t_gel - t))^2: a law that is infinite at the gel time and has the
    /// liquid's value before it foams, 25 times that when four fifths of the way are gone. A guess
    /// (from memory: 5 to 100 Pa s while it rises); pressures that rest on it are an order of
    /// magnitude.
    [[nodiscard]] double viscosity_pa_s(double t_s) const;
    /// When it runs no more.
    [[nodiscard]] double gel_s() const { return gel_s_; }
    /// The end of the work time.
    [[nodiscard]] double begin_s() const { return clock_.times().work_s; }
    /// Whether the gel time is a guess.
    [[nodiscard]] bool gel_guessed() const { return gel_guessed_; }

  private:
    RiseClock clock_;
    double viscosity_pa_s_ = 1.0;
    double gel_s_ = 0.0;
    bool gel_guessed_ = true;
};

}  // namespace cavigram
