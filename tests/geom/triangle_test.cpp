// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/geom/triangle.h"

#include <numbers>
#include <random>

#include "support/near.h"

using namespace cavigram;

TEST_CASE("the closest point beats every point of a fine sampling, and is beaten by none") {
    std::mt19937 random(7);  // fixed seed
    std::uniform_real_distribution<double> coordinate(-1.0, 1.0);
    const auto point = [&] {
        return Vec3(coordinate(random), coordinate(random), coordinate(random));
    };
    for (int round = 0; round < 200; ++round) {
        const Vec3 a = point();
        const Vec3 b = point();
        const Vec3 c = round % 10 == 0 ? Vec3(0.3 * a + 0.7 * b)
                                       : point();  // every tenth is a sliver of no area
        const Vec3 p = 2.0 * point();
        const double distance = (closest_point_on_triangle(p, a, b, c) - p).norm();
        double sampled = 1e9;
        const int n = 40;
        for (int i = 0; i <= n; ++i) {
            for (int j = 0; j + i <= n; ++j) {
                const Vec3 q = a + (b - a) * i / n + (c - a) * j / n;
                sampled = std::min(sampled, (q - p).norm());
            }
        }
        CHECK(distance <= sampled + 1e-12);
        CHECK(distance >= sampled - 0.1);
    }
    CHECK(closest_point_on_triangle(Vec3(1, 1, 1), Vec3::Zero(), Vec3::Zero(), Vec3::Zero()) ==
          Vec3::Zero());
}

TEST_CASE("solid angles of a box add up to the whole sphere inside and to nothing outside") {
    const Vec3 v[8] = {{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {1, 1, 0},
                       {0, 0, 1}, {1, 0, 1}, {0, 1, 1}, {1, 1, 1}};
    const int faces[12][3] = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                              {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
    double inside = 0.0;
    double outside = 0.0;
    for (const auto& f : faces) {
        inside += solid_angle(Vec3(0.3, 0.2, 0.9), v[f[0]], v[f[1]], v[f[2]]);
        outside += solid_angle(Vec3(1.3, 0.2, 0.9), v[f[0]], v[f[1]], v[f[2]]);
    }
    CHECK_NEAR(inside, 4.0 * std::numbers::pi, 1e-14);
    CHECK(std::abs(outside) < 1e-14);
}
