// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <cstddef>

#include "cavigram/io/polygon_detail.h"

namespace cavigram {

namespace {

const Vec3& at(const std::vector<Vec3>& vertices, std::int32_t index) {
    return vertices[static_cast<std::size_t>(index)];
}

// Twice the vector area: sum of cross products of neighbors, taken about the first corner to keep
// digits.
Vec3 double_area(std::span<const std::int32_t> corners, const std::vector<Vec3>& vertices) {
    const Vec3& origin = at(vertices, corners[0]);
    Vec3 sum = Vec3::Zero();
    for (std::size_t i = 1; i + 1 < corners.size(); ++i) {
        sum += (at(vertices, corners[i]) - origin).cross(at(vertices, corners[i + 1]) - origin);
    }
    return sum;
}

void cut_fan(std::span<const std::int32_t> corners, std::vector<Triangle>& triangles) {
    for (std::size_t i = 1; i + 1 < corners.size(); ++i) {
        triangles.push_back({corners[0], corners[i], corners[i + 1]});
    }
}

void cut_quadrilateral(std::span<const std::int32_t> q, const std::vector<Vec3>& vertices,
                       const Vec3& normal, std::vector<Triangle>& triangles) {
    const auto turns_left = [&](std::size_t i, std::size_t j, std::size_t k) {
        const Vec3& a = at(vertices, q[i]);
        return (at(vertices, q[j]) - a).cross(at(vertices, q[k]) - a).dot(normal) > 0.0;
    };
    // A diagonal lies inside if both of its triangles run the polygon's way around.
    const bool first_inside = turns_left(0, 1, 2) && turns_left(0, 2, 3);
    const bool second_inside = turns_left(1, 2, 3) && turns_left(1, 3, 0);
    const bool first_shorter = (at(vertices, q[2]) - at(vertices, q[0])).squaredNorm() <=
                               (at(vertices, q[3]) - at(vertices, q[1])).squaredNorm();
    if (first_inside == second_inside ? first_shorter : first_inside) {
        triangles.push_back({q[0], q[1], q[2]});
        triangles.push_back({q[0], q[2], q[3]});
    } else {
        triangles.push_back({q[1], q[2], q[3]});
        triangles.push_back({q[1], q[3], q[0]});
    }
}

double turn(const Vec2& a, const Vec2& b, const Vec2& c) {
    return (b.x() - a.x()) * (c.y() - a.y()) - (b.y() - a.y()) * (c.x() - a.x());
}

// Corners of a polygon seen along its normal, in a ring from which ears are taken.
class EarCutter {
  public:
    EarCutter(std::span<const std::int32_t> corners, const std::vector<Vec3>& vertices,
              const Vec3& normal)
        : ring_(corners.begin(), corners.end()) {
        // The coordinate plane that the polygon fills best; its two axes in the order that keeps
        // counter-clockwise.
        int drop = 0;
        normal.cwiseAbs().maxCoeff(&drop);
        int u = (drop + 1) % 3;
        int v = (drop + 2) % 3;
        if (normal[drop] < 0.0) {
            std::swap(u, v);
        }
        for (const std::int32_t corner : corners) {
            const Vec3& p = at(vertices, corner);
            flat_.emplace_back(p[u], p[v]);
        }
    }

    void cut(std::vector<Triangle>& triangles) {
        std::size_t i = 0;
        std::size_t tried = 0;
        while (ring_.size() > 3 && tried < ring_.size()) {
            i %= ring_.size();
            if (is_ear(i)) {
                triangles.push_back({ring_[before(i)], ring_[i], ring_[after(i)]});
                ring_.erase(ring_.begin() + static_cast<std::ptrdiff_t>(i));
                flat_.erase(flat_.begin() + static_cast<std::ptrdiff_t>(i));
                tried = 0;
            } else {
                ++tried;
            }
            ++i;  // After an ear this passes over its neighbor, which spreads the cuts and avoids
                  // slivers.
        }
        cut_fan(ring_, triangles);
    }

  private:
    [[nodiscard]] std::size_t before(std::size_t i) const {
        return i == 0 ? ring_.size() - 1 : i - 1;
    }
    [[nodiscard]] std::size_t after(std::size_t i) const {
        return i + 1 == ring_.size() ? 0 : i + 1;
    }

    [[nodiscard]] bool is_ear(std::size_t i) const {
        const Vec2& a = flat_[before(i)];
        const Vec2& b = flat_[i];
        const Vec2& c = flat_[after(i)];
        if (!(turn(a, b, c) > 0.0)) {
            return false;
        }
        for (std::size_t k = 0; k < flat_.size(); ++k) {
            const Vec2& p = flat_[k];
            // Corners that lie on the ear's own corners (where the polygon touches itself) do no
            // harm.
            if (p == a || p == b || p == c) {
                continue;
            }
            if (turn(a, b, p) >= 0.0 && turn(b, c, p) >= 0.0 && turn(c, a, p) >= 0.0) {
                return false;
            }
        }
        return true;
    }

    std::vector<std::int32_t> ring_;
    std::vector<Vec2> flat_;
};

}  // namespace

void cut_polygon(std::span<const std::int32_t> corners, const std::vector<Vec3>& vertices,
                 std::vector<Triangle>& triangles) {
    if (corners.size() == 3) {
        triangles.push_back({corners[0], corners[1], corners[2]});
        return;
    }
    const Vec3 normal = double_area(corners, vertices);
    const bool has_area = normal.allFinite() && normal.squaredNorm() > 0.0;
    if (corners.size() == 4) {
        cut_quadrilateral(corners, vertices, normal, triangles);
    } else if (has_area && corners.size() <= kMostEarCorners) {
        EarCutter(corners, vertices, normal).cut(triangles);
    } else {
        cut_fan(corners, triangles);
    }
}

}  // namespace cavigram
