// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>
#include <utility>
#include <vector>

#include "cavigram/geom/vector.h"
#include "cavigram/mesh/tri_mesh.h"

namespace cavigram::detail {

// Element `i` of a row whose indices are kept as 32-bit integers.
template <class Row, class Index>
auto& at(Row& row, Index i) {
    return row[static_cast<std::size_t>(i)];
}

// Written out, so that a height is the very same number wherever it is computed.
inline double along(const Vec3& axis, const Vec3& p) {
    return axis.x() * p.x() + axis.y() * p.y() + axis.z() * p.z();
}

// A triangle's heights from the top down, and its top vertex.
struct Sorted {
    Sorted(const Triangle& t, const std::vector<double>& height)
        : a(at(height, t[0])), b(at(height, t[1])), c(at(height, t[2])), top(t[0]) {
        if (b > a) {
            std::swap(a, b);
            top = t[1];
        }
        if (c > b) {
            std::swap(b, c);
            if (b > a) {
                std::swap(a, b);
                top = t[2];
            }
        }
    }

    // Mean over the triangle of the height above `s`, counting what lies below `s` as 0.
    //
    // Multiplied by the signed area seen from above and summed over a closed surface, this is the
    // volume above `s`: the divergence theorem for the field (h - s) u, to which the lid at height
    // s adds nothing. With the corner `a` alone above, the part above is a triangle of area share
    // (a-s)^2/((a-b)(a-c)) and mean height (a-s)/3; with only `c` below, it is the whole less a
    // triangle at c.
    [[nodiscard]] double mean_above(double s) const {
        if (s >= a) {
            return 0.0;
        }
        if (s <= c) {
            return (a + b + c) / 3.0 - s;
        }
        if (s >= b) {
            const double d = a - s;
            return d / 3.0 * (d / (a - b)) * (d / (a - c));
        }
        const double d = s - c;
        return (a + b + c) / 3.0 - s + d / 3.0 * (d / (a - c)) * (d / (b - c));
    }

    double a, b, c;
    std::int32_t top;
};

}  // namespace cavigram::detail
