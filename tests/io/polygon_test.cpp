// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <map>
#include <numbers>
#include <numeric>
#include <random>

#include "cavigram/io/polygon_detail.h"

#include "io_tools.h"
#include "support/near.h"

using namespace io_test;

namespace {

std::vector<std::int32_t> all_corners(std::size_t count) {
    std::vector<std::int32_t> corners(count);
    std::iota(corners.begin(), corners.end(), 0);
    return corners;
}

TriMesh cut(const std::vector<Vec3>& points) {
    TriMesh mesh{points, {}};
    cut_polygon(all_corners(points.size()), mesh.vertices, mesh.triangles);
    return mesh;
}

// The triangles' edges, each minus its opposite, are the polygon's own edges: this is what keeps a
// closed mesh closed.
void check_border(const TriMesh& mesh) {
    const auto count = static_cast<std::int32_t>(mesh.vertices.size());
    REQUIRE(mesh.triangles.size() == mesh.vertices.size() - 2);
    std::map<std::pair<std::int32_t, std::int32_t>, int> edges;
    for (const Triangle& t : mesh.triangles) {
        for (std::size_t i = 0; i < 3; ++i) {
            const std::int32_t a = t[i];
            const std::int32_t b = t[(i + 1) % 3];
            edges[{std::min(a, b), std::max(a, b)}] += a < b ? 1 : -1;
        }
    }
    for (const auto& [edge, balance] : edges) {
        const bool forward = edge.second == edge.first + 1;
        const bool closing = edge.first == 0 && edge.second == count - 1;
        CHECK(balance == (forward ? 1 : closing ? -1 : 0));
    }
}

// Area by the formula of shoelaces, for polygons in the plane z = 0.
double shoelace(const std::vector<Vec3>& p) {
    double two = 0.0;
    for (std::size_t i = 0; i < p.size(); ++i) {
        const Vec3& q = p[(i + 1) % p.size()];
        two += p[i].x() * q.y() - q.x() * p[i].y();
    }
    return two / 2.0;
}

std::vector<Vec3> star(std::size_t points, double inner) {
    std::vector<Vec3> p;
    for (std::size_t i = 0; i < 2 * points; ++i) {
        const double angle =
            std::numbers::pi * static_cast<double>(i) / static_cast<double>(points);
        const double r = i % 2 == 0 ? 1.0 : inner;
        p.emplace_back(r * std::cos(angle), r * std::sin(angle), 0.0);
    }
    return p;
}

}  // namespace

TEST_CASE("flat simple polygons are cut without overlap, convex or not, in any position") {
    const std::vector<std::vector<Vec3>> polygons = {
        {{0, 0, 0}, {2, 0, 0}, {2, 1, 0}, {0, 1, 0}},
        {{0, 0, 0}, {4, 0, 0}, {1, 1, 0}, {0, 4, 0}},  // an arrowhead: one diagonal lies outside
        {{4, 0, 0}, {1, 1, 0}, {0, 4, 0}, {0, 0, 0}},
        {{0, 0, 0},
         {3, 0, 0},
         {3, 3, 0},
         {2, 3, 0},
         {2, 1, 0},
         {1, 1, 0},
         {1, 3, 0},
         {0, 3, 0}},                                                         // a U
        {{0, 0, 0}, {1, 0, 0}, {2, 0, 0}, {3, 0, 0}, {3, 1, 0}, {0, 1, 0}},  // corners in a
                                                                             // straight line
        star(5, 0.3),
        star(40, 0.9),
        star(200, 0.02),
    };
    Eigen::Matrix3d turn = Eigen::AngleAxisd(0.7, Vec3(1, 2, 3).normalized()).toRotationMatrix();
    for (const auto& polygon : polygons) {
        CAPTURE(polygon.size());
        // Signed area is kept by any cut; that the sum of absolute areas equals it too shows that
        // no triangle is turned over.
        const double area = shoelace(polygon);
        const TriMesh flat = cut(polygon);
        check_border(flat);
        CHECK_NEAR(plain_area(flat), area, 1e-12);
        std::vector<Vec3> placed;
        for (const Vec3& p : polygon) {
            placed.push_back(turn * p + Vec3(10, -20, 30));
        }
        std::reverse(placed.begin(), placed.end());
        const TriMesh turned = cut(placed);
        check_border(turned);
        CHECK_NEAR(plain_area(turned), area, 1e-9);
    }
}

TEST_CASE("a quadrilateral that is not flat is cut along its shorter inner diagonal") {
    const TriMesh mesh = cut({{0, 0, 0}, {2, 0, 0.3}, {2, 1, 0.6}, {0, 1, 0.2}});
    check_border(mesh);
    CHECK(mesh.triangles.front() == Triangle{1, 2, 3});
    CHECK(cut({{0, 0, 0}, {2, 0, 3}, {2, 1, 0}, {0, 1, 0.2}}).triangles.front() ==
          Triangle{0, 1, 2});
}

TEST_CASE(
    "whatever the polygon, its border stays: crossing, repeated, without area, random, very "
    "large") {
    check_border(cut({{0, 0, 0}, {1, 1, 0}, {1, 0, 0}, {0, 1, 0}}));  // a bow tie
    check_border(cut(
        {{0, 0, 0}, {1, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}, {0, 0, 0}}));    // repeated points
    check_border(cut({{0, 0, 0}, {1, 0, 0}, {2, 0, 0}, {3, 0, 0}, {4, 0, 0}}));  // a line
    check_border(cut(std::vector<Vec3>(6, Vec3(NAN, 0, 0))));
    check_border(cut(star(kMostEarCorners, 0.99)));
    std::mt19937 random(7);  // NOLINT: a fixed seed, so that a failure comes back
    std::uniform_real_distribution<double> number(-1.0, 1.0);
    for (int i = 0; i < 200; ++i) {
        std::vector<Vec3> points(static_cast<std::size_t>(3 + i % 15));
        for (Vec3& p : points) {
            p = Vec3(number(random), number(random), number(random));
        }
        check_border(cut(points));
    }
}
