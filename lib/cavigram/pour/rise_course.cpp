// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/rise_course.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "cavigram/core/error.h"

namespace cavigram {

RiseCourse::RiseCourse(const RiseCourseOptions& options)
    : clock_(options.times),
      viscosity_pa_s_(options.viscosity_pa_s),
      gel_s_(options.gel_s.value_or(options.times.risen_s)),
      gel_guessed_(!options.gel_s) {
    if (!(viscosity_pa_s_ > 0.0) || !std::isfinite(viscosity_pa_s_)) {
        throw InvalidInput("The liquid's viscosity must be above 0.");
    }
    if (!(gel_s_ > options.times.work_s)) {
        throw InvalidInput(
            "The foam gels before its work time is over; give a gel time after that.");
    }
}

double RiseCourse::expansion(double t_s) const {
    return clock_.times().expansion * clock_.filled_share(std::min(t_s, gel_s_));
}

double RiseCourse::growth_per_s(double t_s) const {
    if (t_s < begin_s() || t_s >= gel_s_) {
        return 0.0;
    }
    // d(ln x)/dt from the straightened curves of RiseClock, g(x) = g0 + rate t: rate/(x g'(x)),
    // with x g' = 1/(-ln x), x/(1 - x) and 1/(1 - x).
    const double x = clock_.filled_share(t_s);
    switch (clock_.times().curve) {
        case RiseCurve::gompertz:
            return clock_.rate_per_s() * -std::log(x);
        case RiseCurve::first_order:
            return clock_.rate_per_s() * (1.0 - x) / x;
        case RiseCurve::logistic:
            return clock_.rate_per_s() * (1.0 - x);
    }
    return 0.0;
}

double RiseCourse::reached_s(double expansion) const {
    const double t = clock_.reached_s(expansion / clock_.times().expansion);
    return t <= gel_s_ ? t : std::numeric_limits<double>::infinity();
}

double RiseCourse::viscosity_pa_s(double t_s) const {
    if (t_s <= begin_s()) {
        return viscosity_pa_s_;
    }
    if (t_s >= gel_s_) {
        return std::numeric_limits<double>::infinity();
    }
    const double way = (gel_s_ - begin_s()) / (gel_s_ - t_s);
    return viscosity_pa_s_ * way * way;
}

}  // namespace cavigram
