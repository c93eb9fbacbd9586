// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/orient.h"

#include <array>
#include <cmath>

namespace cavigram {

namespace {

// A number as the exact sum of doubles, smallest first, no two of which overlap.
class Expansion {
  public:
    void add_product(double x, double y) {
        const double high = x * y;
        add(std::fma(x, y, -high));  // the exact rounding error of x*y
        add(high);
    }
    // The largest part decides: it outweighs all others together.
    [[nodiscard]] int sign() const {
        for (std::size_t i = size_; i > 0; --i) {
            if (parts_[i - 1] != 0.0) {
                return parts_[i - 1] > 0.0 ? 1 : -1;
            }
        }
        return 0;
    }

  private:
    void add(double term) {
        for (std::size_t i = 0; i < size_; ++i) {
            const double sum = parts_[i] + term;
            const double shift = sum - parts_[i];
            parts_[i] = (parts_[i] - (sum - shift)) + (term - shift);  // the exact error of the sum
            term = sum;
        }
        parts_[size_++] = term;
    }

    std::array<double, 12> parts_{};
    std::size_t size_ = 0;
};

int exact_orient(const Vec2& a, const Vec2& b, const Vec2& p) {
    // (a-p) x (b-p) multiplied out; the term p.x p.y cancels.
    Expansion sum;
    sum.add_product(a.x(), b.y());
    sum.add_product(-a.x(), p.y());
    sum.add_product(-p.x(), b.y());
    sum.add_product(-a.y(), b.x());
    sum.add_product(a.y(), p.x());
    sum.add_product(p.y(), b.x());
    return sum.sign();
}

}  // namespace

int orient(const Vec2& a, const Vec2& b, const Vec2& p) {
    const double left = (a.x() - p.x()) * (b.y() - p.y());
    const double right = (a.y() - p.y()) * (b.x() - p.x());
    const double det = left - right;
    // Two differences, one product and one more difference: 3 roundings and a bit, of 2^-53 each.
    constexpr double kBound = 4.0 * 0x1p-53;
    const double error = kBound * (std::abs(left) + std::abs(right));
    if (det > error) {
        return 1;
    }
    if (det < -error) {
        return -1;
    }
    return exact_orient(a, b, p);
}

int side(const Vec2& a, const Vec2& b, const Vec2& p) {
    const int sign = orient(a, b, p);
    if (sign != 0) {
        return sign;
    }
    // The derivative of the determinant is a.y - b.y in p.x and b.x - a.x in p.y.
    if (a.y() != b.y()) {
        return a.y() > b.y() ? 1 : -1;
    }
    if (a.x() != b.x()) {
        return b.x() > a.x() ? 1 : -1;
    }
    return 0;
}

int triangle_winding(const Vec2& a, const Vec2& b, const Vec2& c, const Vec2& p) {
    const int ab = side(a, b, p);
    return ab != 0 && ab == side(b, c, p) && ab == side(c, a, p) ? ab : 0;
}

}  // namespace cavigram
