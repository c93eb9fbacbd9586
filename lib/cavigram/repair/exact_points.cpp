// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <cmath>
#include <utility>

#include <boost/multiprecision/cpp_int.hpp>

#include "cavigram/repair/exact_points_detail.h"
#include "cavigram/spatial/orient.h"

namespace cavigram {

namespace {

namespace mp = boost::multiprecision;
template <unsigned kBits>
using Whole =
    mp::number<mp::cpp_int_backend<kBits, kBits, mp::signed_magnitude, mp::unchecked, void>,
               mp::et_off>;
using Small = Whole<256>;    // edge-plane points: 222 bits
using Wide = Whole<512>;     // three-plane points: 390 bits
using Widest = Whole<1280>;  // their 3 by 3 determinants: 1,120 bits

constexpr double kHalfUlp = 0x1p-53;

template <class Number>
struct Vector {
    Number x, y, z;
    [[nodiscard]] const Number& operator[](int i) const { return i == 0 ? x : i == 1 ? y : z; }
    [[nodiscard]] Number& operator[](int i) { return i == 0 ? x : i == 1 ? y : z; }
};

template <class Number>
Vector<Number> whole(const Vec3& p) {
    return {Number(static_cast<std::int64_t>(p.x())), Number(static_cast<std::int64_t>(p.y())),
            Number(static_cast<std::int64_t>(p.z()))};
}

template <class Number>
Vector<Number> operator-(const Vector<Number>& a, const Vector<Number>& b) {
    return {a.x - b.x, a.y - b.y, a.z - b.z};
}

template <class Number>
Vector<Number> cross(const Vector<Number>& a, const Vector<Number>& b) {
    return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}

template <class Number>
Number dot(const Vector<Number>& a, const Vector<Number>& b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}

// A point as whole numbers over a common denominator w > 0.
template <class Number>
struct Fraction {
    Vector<Number> x;
    Number w;
};

template <class Number>
void make_positive(Fraction<Number>& p) {
    if (p.w < 0) {
        p.w = -p.w;
        for (int i = 0; i < 3; ++i) {
            p.x[i] = -p.x[i];
        }
    }
}

class Corners {
  public:
    explicit Corners(const TriMesh& mesh) : mesh_(mesh) {}

    template <class Number>
    [[nodiscard]] Vector<Number> corner(std::int32_t v) const {
        return whole<Number>(mesh_.vertices[static_cast<std::size_t>(v)]);
    }
    template <class Number>
    [[nodiscard]] Vector<Number> normal(std::int32_t triangle) const {
        const Triangle& t = mesh_.triangles[static_cast<std::size_t>(triangle)];
        const Vector<Number> a = corner<Number>(t[0]);
        return cross(corner<Number>(t[1]) - a, corner<Number>(t[2]) - a);
    }
    [[nodiscard]] std::int32_t first_of(std::int32_t triangle) const {
        return mesh_.triangles[static_cast<std::size_t>(triangle)][0];
    }

  private:
    const TriMesh& mesh_;
};

// a + u (num / w)
template <class Number>
Fraction<Number> along(const Vector<Number>& a, const Vector<Number>& u, const Number& num,
                       const Number& w) {
    Fraction<Number> p;
    p.w = w;
    for (int i = 0; i < 3; ++i) {
        p.x[i] = a[i] * w + u[i] * num;
    }
    return p;
}

template <class Number>
Fraction<Number> edge_plane(const Corners& mesh, const std::array<std::int32_t, 4>& of) {
    const auto a = mesh.corner<Number>(of[0]);
    const auto u = mesh.corner<Number>(of[1]) - a;
    const auto n = mesh.normal<Number>(of[2]);
    return along(a, u, dot(n, mesh.corner<Number>(mesh.first_of(of[2])) - a), dot(n, u));
}

// Both lines lie in one plane: seen along any axis in which they cross, they cross in the point.
template <class Number>
Fraction<Number> edge_edge(const Corners& mesh, const std::array<std::int32_t, 4>& of) {
    const auto a = mesh.corner<Number>(of[0]);
    const auto u = mesh.corner<Number>(of[1]) - a;
    const auto c = mesh.corner<Number>(of[2]) - a;
    const auto v = mesh.corner<Number>(of[3]) - mesh.corner<Number>(of[2]);
    const auto across = cross(u, v);
    const auto reach = cross(c, v);
    int axis = 0;
    while (axis < 2 && across[axis] == 0) {
        ++axis;
    }
    return along(a, u, reach[axis], across[axis]);
}

// Cramer's rule for n_i . x = d_i.
template <class Number>
Fraction<Number> three_planes(const Corners& mesh, const std::array<std::int32_t, 4>& of) {
    const auto p = mesh.normal<Number>(of[0]);
    const auto q = mesh.normal<Number>(of[1]);
    const auto r = mesh.normal<Number>(of[2]);
    const auto qr = cross(q, r);
    const auto rp = cross(r, p);
    const auto pq = cross(p, q);
    const Number d0 = dot(p, mesh.corner<Number>(mesh.first_of(of[0])));
    const Number d1 = dot(q, mesh.corner<Number>(mesh.first_of(of[1])));
    const Number d2 = dot(r, mesh.corner<Number>(mesh.first_of(of[2])));
    Fraction<Number> x;
    x.w = dot(p, qr);
    for (int i = 0; i < 3; ++i) {
        x.x[i] = d0 * qr[i] + d1 * rp[i] + d2 * pq[i];
    }
    return x;
}

Fraction<Widest> fraction(const Corners& mesh, const PointOrigin& origin) {
    Fraction<Widest> p;
    switch (origin.kind) {
        case PointOrigin::Construction::corner:
            return {mesh.corner<Widest>(origin.of[0]), Widest(1)};
        case PointOrigin::Construction::edge_plane:
            p = edge_plane<Widest>(mesh, origin.of);
            break;
        case PointOrigin::Construction::edge_edge:
            p = edge_edge<Widest>(mesh, origin.of);
            break;
        case PointOrigin::Construction::three_planes:
            p = three_planes<Widest>(mesh, origin.of);
            break;
    }
    make_positive(p);
    return p;
}

// x / w to the nearest double, ties to even: the quotient's first 63 or 64 bits, the last of them
// set where more follow, then the machine's own rounding. \pre w > 0
template <class Number>
double rounded(const Number& x, const Number& w) {
    if (x == 0) {
        return 0.0;
    }
    const bool negative = x < 0;
    Number numerator = negative ? Number(-x) : x;
    const int shift = 63 - (static_cast<int>(mp::msb(numerator)) - static_cast<int>(mp::msb(w)));
    Number denominator = w;
    if (shift >= 0) {
        numerator <<= static_cast<unsigned>(shift);
    } else {
        denominator <<= static_cast<unsigned>(-shift);
    }
    Number quotient;
    Number rest;
    mp::divide_qr(numerator, denominator, quotient, rest);
    auto bits = static_cast<std::uint64_t>(quotient);
    if (rest != 0) {
        bits |= 1U;
    }
    const double size = std::ldexp(static_cast<double>(bits), -shift);
    return negative ? -size : size;
}

template <class Number>
Vec3 rounded(Fraction<Number> p) {
    make_positive(p);
    return {rounded(p.x.x, p.w), rounded(p.x.y, p.w), rounded(p.x.z, p.w)};
}

bool is_corner(const ExactPoint& p) {
    return p.origin.kind == PointOrigin::Construction::corner;
}

Vec2 seen(const Vec3& p, int axis) {
    return {p[(axis + 1) % 3], p[(axis + 2) % 3]};
}

double reach_of(const Vec2& p) {
    return p.cwiseAbs().maxCoeff();
}

int exact_turn(const Corners& mesh, const ExactPoint& p, const ExactPoint& q, const ExactPoint& r,
               int axis) {
    const int i = (axis + 1) % 3;
    const int j = (axis + 2) % 3;
    Widest x[3];
    Widest y[3];
    Widest w[3];
    const ExactPoint* points[3] = {&p, &q, &r};
    for (int k = 0; k < 3; ++k) {
        const Fraction<Widest> f = fraction(mesh, points[k]->origin);
        x[k] = f.x[i];
        y[k] = f.x[j];
        w[k] = f.w;
    }
    const Widest det = x[0] * (y[1] * w[2] - y[2] * w[1]) - y[0] * (x[1] * w[2] - x[2] * w[1]) +
                       w[0] * (x[1] * y[2] - x[2] * y[1]);
    return det.sign();
}

}  // namespace

PointOrigin corner_point(std::int32_t vertex) {
    return {PointOrigin::Construction::corner, {vertex, -1, -1, -1}};
}

PointOrigin edge_plane_point(std::int32_t a, std::int32_t b, std::int32_t triangle) {
    return {PointOrigin::Construction::edge_plane, {std::min(a, b), std::max(a, b), triangle, -1}};
}

PointOrigin edge_edge_point(std::int32_t a, std::int32_t b, std::int32_t c, std::int32_t d) {
    std::array<std::int32_t, 2> first{std::min(a, b), std::max(a, b)};
    std::array<std::int32_t, 2> second{std::min(c, d), std::max(c, d)};
    if (second < first) {
        std::swap(first, second);
    }
    return {PointOrigin::Construction::edge_edge, {first[0], first[1], second[0], second[1]}};
}

PointOrigin three_planes_point(std::int32_t r, std::int32_t s, std::int32_t t) {
    std::array<std::int32_t, 3> sorted{r, s, t};
    std::sort(sorted.begin(), sorted.end());
    return {PointOrigin::Construction::three_planes, {sorted[0], sorted[1], sorted[2], -1}};
}

ExactPoint ExactPoints::made(const PointOrigin& origin) const {
    const Corners mesh(mesh_);
    switch (origin.kind) {
        case PointOrigin::Construction::edge_plane:
            return {origin, rounded(edge_plane<Small>(mesh, origin.of))};
        case PointOrigin::Construction::edge_edge:
            return {origin, rounded(edge_edge<Small>(mesh, origin.of))};
        case PointOrigin::Construction::three_planes:
            return {origin, rounded(three_planes<Wide>(mesh, origin.of))};
        case PointOrigin::Construction::corner:
            break;
    }
    return {origin, mesh_.vertices[static_cast<std::size_t>(origin.of[0])]};
}

bool ExactPoints::equal(const ExactPoint& p, const ExactPoint& q) const {
    if (p.near != q.near) {
        return false;
    }
    if (p.origin == q.origin) {
        return true;
    }
    const Corners mesh(mesh_);
    const Fraction<Widest> f = fraction(mesh, p.origin);
    const Fraction<Widest> g = fraction(mesh, q.origin);
    for (int i = 0; i < 3; ++i) {
        if (f.x[i] * g.w != g.x[i] * f.w) {
            return false;
        }
    }
    return true;
}

int ExactPoints::compare(const ExactPoint& p, const ExactPoint& q, int axis) const {
    if (p.near[axis] != q.near[axis]) {
        return p.near[axis] < q.near[axis] ? -1 : 1;
    }
    if (p.origin == q.origin || (is_corner(p) && is_corner(q))) {
        return 0;
    }
    const Corners mesh(mesh_);
    const Fraction<Widest> f = fraction(mesh, p.origin);
    const Fraction<Widest> g = fraction(mesh, q.origin);
    const Widest difference = f.x[axis] * g.w - g.x[axis] * f.w;
    return difference.sign();
}

int ExactPoints::turn(const ExactPoint& p, const ExactPoint& q, const ExactPoint& r,
                      int axis) const {
    const Vec2 a = seen(p.near, axis);
    const Vec2 b = seen(q.near, axis);
    const Vec2 c = seen(r.near, axis);
    if (is_corner(p) && is_corner(q) && is_corner(r)) {
        return orient(a, b, c);
    }
    const double left = (b.x() - a.x()) * (c.y() - a.y());
    const double right = (b.y() - a.y()) * (c.x() - a.x());
    const double det = left - right;
    // Each coordinate is off by up to half a unit in the last place of the largest, each difference
    // by twice that; products and their difference add four roundings.
    const double off = 2.0 * kHalfUlp * std::max({reach_of(a), reach_of(b), reach_of(c)});
    const double sides = std::abs(b.x() - a.x()) + std::abs(c.y() - a.y()) +
                         std::abs(b.y() - a.y()) + std::abs(c.x() - a.x());
    const double error = 1.01 * (off * sides + 2.0 * off * off) +
                         5.0 * kHalfUlp * (std::abs(left) + std::abs(right));
    if (std::abs(det) > error) {
        return det > 0.0 ? 1 : -1;
    }
    return exact_turn(Corners(mesh_), p, q, r, axis);
}

int ExactPoints::surely_in_circle(const ExactPoint& p, const ExactPoint& q, const ExactPoint& r,
                                  const ExactPoint& s, int axis) const {
    const Vec2 d = seen(s.near, axis);
    const Vec2 a = seen(p.near, axis) - d;
    const Vec2 b = seen(q.near, axis) - d;
    const Vec2 c = seen(r.near, axis) - d;
    const double det = a.squaredNorm() * (b.x() * c.y() - b.y() * c.x()) +
                       b.squaredNorm() * (c.x() * a.y() - c.y() * a.x()) +
                       c.squaredNorm() * (a.x() * b.y() - a.y() * b.x());
    // With differences of at most m, each off by e: the determinant has degree four and 12 products
    // of four, so 48 m^3 e, and some ten roundings of 24 m^4.
    const double size = std::max({reach_of(a), reach_of(b), reach_of(c)});
    const double off = 2.0 * kHalfUlp * (size + reach_of(d));
    const double error = 50.0 * size * size * size * off + 250.0 * kHalfUlp * std::pow(size, 4);
    return std::abs(det) > error ? (det > 0.0 ? 1 : -1) : 0;
}

int ExactPoints::widest_axis(std::int32_t triangle) const {
    const auto n = Corners(mesh_).normal<Whole<128>>(triangle);
    const auto size = [&](int i) { return abs(n[i]); };
    int axis = 0;
    for (int i = 1; i < 3; ++i) {
        axis = size(i) > size(axis) ? i : axis;
    }
    return axis;
}

}  // namespace cavigram
