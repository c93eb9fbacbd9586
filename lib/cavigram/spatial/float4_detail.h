// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <limits>

#include "cavigram/geom/vector.h"

namespace cavigram::detail {

// Four floats handled at once: a vector type of GCC and Clang, which becomes SSE on x86 and plain
// code elsewhere.
using Float4 = float __attribute__((vector_size(16)));
using Mask4 = int __attribute__((vector_size(16)));

inline Float4 load4(const float* p) {
    Float4 v;
    __builtin_memcpy(&v, p, sizeof v);
    return v;
}
inline Float4 all4(float x) {
    return Float4{x, x, x, x};
}
// Where either is not a number, the second is taken.
inline Float4 max4(Float4 a, Float4 b) {
    return a > b ? a : b;
}
inline Float4 min4(Float4 a, Float4 b) {
    return a < b ? a : b;
}

inline float rounded_down(double x) {
    const auto f = static_cast<float>(x);
    return static_cast<double>(f) > x ? std::nextafter(f, -std::numeric_limits<float>::infinity())
                                      : f;
}
inline float rounded_up(double x) {
    const auto f = static_cast<float>(x);
    return static_cast<double>(f) < x ? std::nextafter(f, std::numeric_limits<float>::infinity())
                                      : f;
}

// A point as a float box around it: the nearest float and two of its last places to either side.
struct FloatBox {
    explicit FloatBox(const Vec3& p) {
        for (int i = 0; i < 3; ++i) {
            const auto f = static_cast<float>(p[i]);
            const float margin = std::abs(f) * 0x1p-22F + std::numeric_limits<float>::min();
            low[i] = f - margin;
            high[i] = f + margin;
        }
    }
    float low[3] = {};
    float high[3] = {};
};

}  // namespace cavigram::detail
