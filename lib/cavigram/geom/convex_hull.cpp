// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/geom/convex_hull.h"

#include <algorithm>
#include <utility>

namespace cavigram {

namespace {

double cross(const Vec2& a, const Vec2& b) {
    return a.x() * b.y() - a.y() * b.x();
}

}  // namespace

std::vector<Vec2> convex_hull(std::vector<Vec2> points) {
    std::sort(points.begin(), points.end(), [](const Vec2& a, const Vec2& b) {
        return a.x() != b.x() ? a.x() < b.x() : a.y() < b.y();
    });
    points.erase(std::unique(points.begin(), points.end()), points.end());
    if (points.size() < 3) {
        return points;
    }
    std::vector<Vec2> hull;
    // The lower chain from left to right, then the upper one back.
    const auto chain = [&](auto begin, auto end) {
        const std::size_t base = hull.size();
        for (auto p = begin; p != end; ++p) {
            while (hull.size() >= base + 2 &&
                   cross(hull.back() - hull[hull.size() - 2], *p - hull.back()) <= 0.0) {
                hull.pop_back();
            }
            hull.push_back(*p);
        }
        hull.pop_back();  // the other chain begins with it
    };
    chain(points.begin(), points.end());
    chain(points.rbegin(), points.rend());
    return hull;
}

double hull_perimeter(std::vector<Vec2> points) {
    const std::vector<Vec2> hull = convex_hull(std::move(points));
    double sum = 0.0;
    for (std::size_t i = 0; i < hull.size(); ++i) {
        sum += (hull[(i + 1) % hull.size()] - hull[i]).norm();
    }
    return sum;
}

}  // namespace cavigram
