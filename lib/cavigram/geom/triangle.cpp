// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/geom/triangle.h"

#include <algorithm>
#include <cmath>

namespace cavigram {

namespace {

Vec3 closest_point_on_segment(const Vec3& p, const Vec3& a, const Vec3& b) {
    const Vec3 ab = b - a;
    const double length2 = ab.squaredNorm();
    const double t = length2 > 0.0 ? std::clamp((p - a).dot(ab) / length2, 0.0, 1.0) : 0.0;
    return a + t * ab;
}

Vec3 closest_point_on_edges(const Vec3& p, const Vec3& a, const Vec3& b, const Vec3& c) {
    Vec3 best = closest_point_on_segment(p, a, b);
    for (const Vec3& q : {closest_point_on_segment(p, b, c), closest_point_on_segment(p, c, a)}) {
        if ((q - p).squaredNorm() < (best - p).squaredNorm()) {
            best = q;
        }
    }
    return best;
}

}  // namespace

Vec3 closest_point_on_triangle(const Vec3& p, const Vec3& a, const Vec3& b, const Vec3& c) {
    const Vec3 ab = b - a;
    const Vec3 ac = c - a;
    const Vec3 ap = p - a;
    const double d1 = ab.dot(ap);
    const double d2 = ac.dot(ap);
    if (d1 <= 0.0 && d2 <= 0.0) {
        return a;
    }
    const Vec3 bp = p - b;
    const double d3 = ab.dot(bp);
    const double d4 = ac.dot(bp);
    if (d3 >= 0.0 && d4 <= d3) {
        return b;
    }
    const double vc = d1 * d4 - d3 * d2;
    if (vc <= 0.0 && d1 >= 0.0 && d3 <= 0.0) {
        return d1 - d3 > 0.0 ? Vec3(a + (d1 / (d1 - d3)) * ab) : closest_point_on_edges(p, a, b, c);
    }
    const Vec3 cp = p - c;
    const double d5 = ab.dot(cp);
    const double d6 = ac.dot(cp);
    if (d6 >= 0.0 && d5 <= d6) {
        return c;
    }
    const double vb = d5 * d2 - d1 * d6;
    if (vb <= 0.0 && d2 >= 0.0 && d6 <= 0.0) {
        return d2 - d6 > 0.0 ? Vec3(a + (d2 / (d2 - d6)) * ac) : closest_point_on_edges(p, a, b, c);
    }
    const double va = d3 * d6 - d5 * d4;
    if (va <= 0.0 && d4 - d3 >= 0.0 && d5 - d6 >= 0.0) {
        const double along = (d4 - d3) + (d5 - d6);
        return along > 0.0 ? Vec3(b + ((d4 - d3) / along) * (c - b))
                           : closest_point_on_edges(p, a, b, c);
    }
    // va, vb, vc are the barycentric weights scaled by the doubled area squared; a sliver can lose
    // it to rounding.
    const double sum = va + vb + vc;
    if (!(sum > 0.0)) {
        return closest_point_on_edges(p, a, b, c);
    }
    return a + (vb / sum) * ab + (vc / sum) * ac;
}

double solid_angle(const Vec3& p, const Vec3& a, const Vec3& b, const Vec3& c) {
    const Vec3 u = a - p;
    const Vec3 v = b - p;
    const Vec3 w = c - p;
    const double lu = u.norm();
    const double lv = v.norm();
    const double lw = w.norm();
    const double numerator = u.dot(v.cross(w));
    const double denominator = lu * lv * lw + u.dot(v) * lw + v.dot(w) * lu + w.dot(u) * lv;
    return numerator == 0.0 && denominator == 0.0 ? 0.0 : 2.0 * std::atan2(numerator, denominator);
}

}  // namespace cavigram
