// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <limits>

#ifdef __SSE__
#include <xmmintrin.h>
#endif

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
// Where either is not a number, the second is taken: what the one instruction of x86 does, which
// compilers do not see in the comparison.
inline Float4 max4(Float4 a, Float4 b) {
#ifdef __SSE__
    return _mm_max_ps(a, b);
#else
    return a > b ? a : b;
#endif
}
inline Float4 min4(Float4 a, Float4 b) {
#ifdef __SSE__
    return _mm_min_ps(a, b);
#else
    return a < b ? a : b;
#endif
}
// A bit for each lane of a comparison that holds.
inline unsigned bits4(Mask4 mask) {
#ifdef __SSE__
    return static_cast<unsigned>(_mm_movemask_ps(reinterpret_cast<Float4>(mask)));
#else
    return static_cast<unsigned>((mask[0] & 1) | (mask[1] & 2) | (mask[2] & 4) | (mask[3] & 8));
#endif
}
// A bit for each lane where `a` is no more than `b`.
inline unsigned no_more4(Float4 a, Float4 b) {
    return bits4(a <= b);
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
