// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>

namespace cavigram {

/// A running sum that carries its own rounding error (Neumaier 1974, an improved Kahan sum): the
/// error of n terms is about one rounding of the result plus n roundings squared, instead of n
/// roundings.
class CompensatedSum {
  public:
    /// Adds a term.
    void add(double term) {
        const double next = sum_ + term;
        // The smaller of the two lost its low digits; recover them from the larger.
        error_ += std::abs(sum_) >= std::abs(term) ? (sum_ - next) + term : (term - next) + sum_;
        sum_ = next;
    }
    /// Adds another sum with its compensation.
    void add(const CompensatedSum& other) {
        add(other.sum_);
        error_ += other.error_;
    }
    /// The sum so far.
    [[nodiscard]] double value() const { return sum_ + error_; }

  private:
    double sum_ = 0.0;
    double error_ = 0.0;
};

}  // namespace cavigram
