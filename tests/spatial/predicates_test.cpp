// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/spatial/predicates.h"

#include <algorithm>
#include <array>
#include <cstdint>
#include <random>
#include <vector>

#include "cavigram/mesh/solids.h"
#include "cavigram/spatial/orient.h"

#include "support/near.h"

using namespace cavigram;

namespace {

// The oracle for whole-number corners: 64-bit integers do not round.
using Whole = std::array<std::int64_t, 3>;

int sign(std::int64_t x) {
    return (x > 0) - (x < 0);
}

Vec3 real(const Whole& p) {
    return {static_cast<double>(p[0]), static_cast<double>(p[1]), static_cast<double>(p[2])};
}

Whole minus(const Whole& a, const Whole& b) {
    return {a[0] - b[0], a[1] - b[1], a[2] - b[2]};
}

std::int64_t determinant(const Whole& u, const Whole& v, const Whole& w) {
    return u[0] * (v[1] * w[2] - v[2] * w[1]) - u[1] * (v[0] * w[2] - v[2] * w[0]) +
           u[2] * (v[0] * w[1] - v[1] * w[0]);
}

// A real move so small that it changes no decided sign among corners of at most 3: of a lattice
// step of 1e10 it is 1e5 in x and 1 in y. (A normal's parts are at most 72 steps squared; comparing
// two heights multiplies two of them.)
constexpr std::int64_t kStep = 10'000'000'000;
Whole moved(const Whole& p) {
    return {kStep * p[0] + 100'000, kStep * p[1] + 1, kStep * p[2]};
}
Whole scaled(const Whole& p) {
    return {kStep * p[0], kStep * p[1], kStep * p[2]};
}

__extension__ using Wide = __int128;
Wide wide_determinant(const Whole& u, const Whole& v, const Whole& w) {
    const auto at = [](const Whole& a, std::size_t i) { return static_cast<Wide>(a[i]); };
    return at(u, 0) * (at(v, 1) * at(w, 2) - at(v, 2) * at(w, 1)) -
           at(u, 1) * (at(v, 0) * at(w, 2) - at(v, 2) * at(w, 0)) +
           at(u, 2) * (at(v, 0) * at(w, 1) - at(v, 1) * at(w, 0));
}

}  // namespace

TEST_CASE("orientation in space equals integer arithmetic, ties included") {
    std::mt19937 random(11);
    std::uniform_int_distribution<std::int64_t> coordinate(-3, 3);
    const auto draw = [&] {
        return Whole{coordinate(random), coordinate(random), coordinate(random)};
    };
    int ties = 0;
    for (int i = 0; i < 20000; ++i) {
        const Whole a = draw();
        const Whole b = draw();
        const Whole c = draw();
        const Whole p = draw();
        const int expected = sign(determinant(minus(b, a), minus(c, a), minus(p, a)));
        ties += expected == 0 ? 1 : 0;
        CHECK(orient(real(a), real(b), real(c), real(p)) == expected);
    }
    CHECK(ties > 1000);
    // Far from the origin, where plain double arithmetic no longer tells.
    const Vec3 far(1e8, 1e8, 1e8);
    const double step = 0x1p-26;  // one unit in the last place at 1e8
    const Vec3 a = far;
    const Vec3 b = far + Vec3(1, 0, 1.0 / 1024);
    const Vec3 c = far + Vec3(0, 1, 0);
    const Vec3 p = far + Vec3(1024, 0, 1);
    CHECK(orient(a, b, c, p) == 0);
    CHECK(orient(a, b, c, p + Vec3(0, 0, step)) == 1);
    CHECK(orient(a, b, c, p - Vec3(0, 0, step)) == -1);
}

TEST_CASE("a sheet above a point equals the test for a point that is really moved") {
    std::mt19937 random(12);
    std::uniform_int_distribution<std::int64_t> coordinate(-3, 3);
    const auto draw = [&] {
        return Whole{coordinate(random), coordinate(random), coordinate(random)};
    };
    int touching = 0;
    int level = 0;
    for (int i = 0; i < 200000; ++i) {
        const std::array<Whole, 3> t{draw(), draw(), draw()};
        const Whole p = draw();
        const auto cross = [&](const Whole& a, const Whole& b) {
            const Whole q = moved(p);
            const Whole s = scaled(a);
            const Whole e = scaled(b);
            const Wide turn = static_cast<Wide>(e[0] - s[0]) * (q[1] - s[1]) -
                              static_cast<Wide>(e[1] - s[1]) * (q[0] - s[0]);
            return (turn > 0) - (turn < 0);
        };
        const int ab = cross(t[0], t[1]);
        int expected = ab == cross(t[1], t[2]) && ab == cross(t[2], t[0]) ? ab : 0;
        const Wide det =
            wide_determinant(minus(scaled(t[1]), scaled(t[0])), minus(scaled(t[2]), scaled(t[0])),
                             minus(moved(p), scaled(t[0])));
        touching +=
            expected != 0 && determinant(minus(t[1], t[0]), minus(t[2], t[0]), minus(p, t[0])) == 0
                ? 1
                : 0;
        level += expected != 0 && det == 0 ? 1 : 0;
        if (expected != 0 && det * expected > 0) {
            expected = 0;  // the point is above
        }
        CHECK(sheet_above(real(t[0]), real(t[1]), real(t[2]), real(p)) == expected);
    }
    // The hard cases were among them.
    CHECK(touching > 100);
    CHECK(level > 20);
}

TEST_CASE(
    "which sheet is lower equals a comparison of fractions for a point that is really moved") {
    std::mt19937 random(13);
    std::uniform_int_distribution<std::int64_t> coordinate(-2, 2);
    const auto draw = [&] {
        return Whole{coordinate(random), coordinate(random), coordinate(random)};
    };
    const auto corners = [](const std::array<Whole, 3>& t) {
        return TriangleCorners{real(t[0]), real(t[1]), real(t[2])};
    };
    // Height over the moved point as numerator / denominator, in 128-bit integers.
    const auto height = [](const std::array<Whole, 3>& t, const Whole& p, Wide& over) {
        const Whole u = minus(t[1], t[0]);
        const Whole v = minus(t[2], t[0]);
        const Whole d = minus(moved(p), scaled(t[0]));
        const std::int64_t nz = u[0] * v[1] - u[1] * v[0];
        const std::int64_t nx = u[1] * v[2] - u[2] * v[1];
        const std::int64_t ny = u[2] * v[0] - u[0] * v[2];
        over = nz;
        return static_cast<Wide>(scaled(t[0])[2]) * nz - static_cast<Wide>(nx) * d[0] -
               static_cast<Wide>(ny) * d[1];
    };
    int compared = 0;
    int ties_at_point = 0;
    for (int i = 0; i < 1000000; ++i) {
        const std::array<Whole, 3> s{draw(), draw(), draw()};
        const std::array<Whole, 3> t{draw(), draw(), draw()};
        const Whole p = draw();
        const auto covered = [&](const std::array<Whole, 3>& c) {
            return triangle_winding(real(c[0]).head<2>(), real(c[1]).head<2>(),
                                    real(c[2]).head<2>(), real(p).head<2>()) != 0;
        };
        if (!covered(s) || !covered(t)) {
            continue;
        }
        Wide s_over = 0;
        Wide t_over = 0;
        const Wide s_height = height(s, p, s_over);
        const Wide t_height = height(t, p, t_over);
        Wide difference = s_height * t_over - t_height * s_over;
        if ((s_over < 0) != (t_over < 0)) {
            difference = -difference;
        }
        const int expected = difference < 0 ? -1 : (difference > 0 ? 1 : 0);
        CHECK(compare_sheets(corners(s), corners(t), real(p)) == expected);
        CHECK(compare_sheets(corners(t), corners(s), real(p)) == -expected);
        ++compared;
        ties_at_point += orient(real(s[0]), real(s[1]), real(s[2]), real(p)) == 0 &&
                                 orient(real(t[0]), real(t[1]), real(t[2]), real(p)) == 0
                             ? 1
                             : 0;
    }
    CHECK(compared > 5000);
    CHECK(ties_at_point > 50);
}

TEST_CASE("a closed surface is met in balance, also through its edges and corners") {
    // Sheets above a point at the very bottom: as many that look up as look down.
    for (const Solid& solid : {box_solid(2, 2, 2), sphere_solid(3, 12), torus_solid(4, 1, 16)}) {
        const TriMesh& mesh = solid.mesh;
        for (const Vec3& v : mesh.vertices) {
            const Vec3 below(v.x(), v.y(), -10.0);
            int balance = 0;
            for (std::size_t t = 0; t < mesh.triangles.size(); ++t) {
                balance +=
                    sheet_above(mesh.corner(t, 0), mesh.corner(t, 1), mesh.corner(t, 2), below);
            }
            CHECK(balance == 0);
        }
    }
}
