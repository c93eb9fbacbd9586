// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <array>
#include <cmath>

#include "cavigram/geom/vector.h"

namespace cavigram::detail {

// A linear function over a unit cube about the origin, value + gradient.x: what share of the cube
// lies above a level.
//
// Closed form by the piecewise cubic of Scardovelli & Zaleski, J. Comput. Phys. 164 (2000) 228, on
// the sorted slopes.
class CubeCut {
  public:
    explicit CubeCut(const Vec3& gradient) {
        std::array<double, 3> slopes = {std::abs(gradient.x()), std::abs(gradient.y()),
                                        std::abs(gradient.z())};
        std::sort(slopes.begin(), slopes.end());
        auto [a, b, c] = slopes;
        // Slopes below this share of the steepest change the share by no more than that, and would
        // divide by zero.
        constexpr double kLeast = 1e-6;
        c = std::max(c, 1e-300);
        a = std::max(a, kLeast * c);
        b = std::max(b, kLeast * c);
        span_ = a + b + c;
        m1_ = a / span_;
        m2_ = b / span_;
        m3_ = c / span_;
    }

    // Half the difference between the largest and the least value over the cube.
    [[nodiscard]] double reach() const { return 0.5 * span_; }

    // The share of the cube where the function is above `level`, when it is `value` at the center.
    [[nodiscard]] double above(double value, double level) const {
        const double t = (value - level) / span_ + 0.5;  // 0: none, 1: all
        if (t <= 0.0 || t >= 1.0) {
            return t <= 0.0 ? 0.0 : 1.0;
        }
        return t <= 0.5 ? corner(t) : 1.0 - corner(1.0 - t);
    }

  private:
    // Share cut off by the plane m.x = t from the corner of the unit cube, t <= 1/2.
    [[nodiscard]] double corner(double t) const {
        const double m12 = m1_ + m2_;
        if (t < m1_) {
            return t * t * t / (6.0 * m1_ * m2_ * m3_);
        }
        if (t < m2_) {
            return t * (t - m1_) / (2.0 * m2_ * m3_) + m1_ * m1_ / (6.0 * m2_ * m3_);
        }
        if (t < std::min(m12, m3_)) {
            return (t * t * (3.0 * m12 - t) + m1_ * m1_ * (m1_ - 3.0 * t) +
                    m2_ * m2_ * (m2_ - 3.0 * t)) /
                   (6.0 * m1_ * m2_ * m3_);
        }
        if (m12 <= m3_) {
            return (2.0 * t - m12) / (2.0 * m3_);
        }
        return (t * t * (3.0 - 2.0 * t) + m1_ * m1_ * (m1_ - 3.0 * t) +
                m2_ * m2_ * (m2_ - 3.0 * t) + m3_ * m3_ * (m3_ - 3.0 * t)) /
               (6.0 * m1_ * m2_ * m3_);
    }

    double span_ = 0.0;
    double m1_ = 0.0;
    double m2_ = 0.0;
    double m3_ = 0.0;
};

}  // namespace cavigram::detail
