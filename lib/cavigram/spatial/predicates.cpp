// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/predicates.h"

#include <array>
#include <utility>

#include <CGAL/Exact_predicates_inexact_constructions_kernel.h>
#include <CGAL/Exact_rational.h>
#include <CGAL/Interval_nt.h>

#include "cavigram/spatial/orient.h"

namespace cavigram {

namespace {

using Kernel = CGAL::Exact_predicates_inexact_constructions_kernel;

Kernel::Point_3 point(const Vec3& p) {
    return {p.x(), p.y(), p.z()};
}

// The plane through a triangle as height over the (x, y) plane: value at `p`, slopes in x and y.
template <class Number>
struct Sheet {
    Sheet(const TriangleCorners& t, const Vec3& p) {
        const Number ux = Number(t.b.x()) - Number(t.a.x());
        const Number uy = Number(t.b.y()) - Number(t.a.y());
        const Number uz = Number(t.b.z()) - Number(t.a.z());
        const Number vx = Number(t.c.x()) - Number(t.a.x());
        const Number vy = Number(t.c.y()) - Number(t.a.y());
        const Number vz = Number(t.c.z()) - Number(t.a.z());
        const Number nz = ux * vy - uy * vx;
        slope_x = (uz * vy - uy * vz) / nz;
        slope_y = (ux * vz - uz * vx) / nz;
        height = Number(t.a.z()) + slope_x * (Number(p.x()) - Number(t.a.x())) +
                 slope_y * (Number(p.y()) - Number(t.a.y()));
    }
    Number height, slope_x, slope_y;
};

}  // namespace

int orient(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& p) {
    return static_cast<int>(CGAL::orientation(point(a), point(b), point(c), point(p)));
}

int sheet_above(const Vec3& a, const Vec3& b, const Vec3& c, const Vec3& p) {
    const int facing = triangle_winding(a.head<2>(), b.head<2>(), c.head<2>(), p.head<2>());
    if (facing == 0) {
        return 0;
    }
    int above = orient(a, b, c, p);
    if (above == 0) {
        // The moved point leaves the plane by (normal . move): first the normal's x, then its y.
        above = orient(Vec2(a.y(), a.z()), Vec2(b.y(), b.z()), Vec2(c.y(), c.z()));
    }
    if (above == 0) {
        above = orient(Vec2(a.z(), a.x()), Vec2(b.z(), b.x()), Vec2(c.z(), c.x()));
    }
    return above * facing <= 0 ? facing : 0;
}

int compare_sheets(const TriangleCorners& first, const TriangleCorners& second, const Vec3& p) {
    {
        using Interval = CGAL::Interval_nt<false>;
        const CGAL::Protect_FPU_rounding<true> upward;
        const Interval one = Sheet<Interval>(first, p).height;
        const Interval two = Sheet<Interval>(second, p).height;
        // Not-a-number bounds (a triangle nearly edge-on) fail both tests.
        if (one.sup() < two.inf()) {
            return -1;
        }
        if (two.sup() < one.inf()) {
            return 1;
        }
    }
    const Sheet<CGAL::Exact_rational> one(first, p);
    const Sheet<CGAL::Exact_rational> two(second, p);
    for (const auto& [x, y] :
         {std::pair(&one.height, &two.height), std::pair(&one.slope_x, &two.slope_x),
          std::pair(&one.slope_y, &two.slope_y)}) {
        if (*x != *y) {
            return *x < *y ? -1 : 1;
        }
    }
    return 0;
}

}  // namespace cavigram
