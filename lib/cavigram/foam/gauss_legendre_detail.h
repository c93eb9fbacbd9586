// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>

namespace cavigram::detail {

// Integral of f over [from, to] by 8 points; exact for polynomials up to degree 15. Nodes and
// weights of the positive half: Abramowitz & Stegun (1964), table 25.4.
template <class Function>
double gauss_legendre(double from, double to, const Function& f) {
    constexpr std::array<double, 4> kNode = {0.1834346424956498, 0.5255324099163290,
                                             0.7966664774136267, 0.9602898564975363};
    constexpr std::array<double, 4> kWeight = {0.3626837833783620, 0.3137066458778873,
                                               0.2223810344533745, 0.1012285362903763};
    const double middle = 0.5 * (from + to);
    const double half = 0.5 * (to - from);
    double sum = 0.0;
    for (std::size_t i = 0; i < kNode.size(); ++i) {
        for (const double s : {middle - half * kNode[i], middle + half * kNode[i]}) {
            sum += half * kWeight[i] * f(s);
        }
    }
    return sum;
}

}  // namespace cavigram::detail
