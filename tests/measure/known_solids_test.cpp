// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <string>
#include <vector>

#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

#include "support/convex.h"
#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

// Solids whose volume, area and moments stand in closed form: docs/checks.md G-9 to G-14. Flat ones
// are exact. Round ones are cut finer and finer: vertices on the surface and regular refinement
// give an error of c/n^2 + O(n^-4) (G-16), so that halving the triangles quarters it, and (4 fine -
// coarse)/3 is free of the first term.

namespace {

// The order at which `measure` approaches `exact`, and what it extrapolates to.
struct Approach {
    double order;
    double limit;
};

Approach approach(const std::function<TriMesh(int)>& solid, int n, double exact,
                  const std::function<double(const MassProperties&)>& measure) {
    const double coarse = measure(mass_properties(solid(n)));
    const double fine = measure(mass_properties(solid(2 * n)));
    return {std::log2((exact - coarse) / (exact - fine)), (4.0 * fine - coarse) / 3.0};
}

void check_approach(const std::string& name, const std::function<TriMesh(int)>& solid, int n,
                    double exact, const std::function<double(const MassProperties&)>& measure) {
    CAPTURE(name);
    const Approach found = approach(solid, n, exact, measure);
    CAPTURE(found.order);
    CHECK(std::abs(found.order - 2.0) < 0.02);
    // The next term: the first, about 10/n^2, squared.
    CHECK_NEAR(found.limit, exact, 100.0 / std::pow(n, 4));
}

double volume(const MassProperties& solid) {
    return solid.volume_mm3;
}
double area(const MassProperties& solid) {
    return solid.area_mm2;
}
std::function<double(const MassProperties&)> inertia(int axis) {
    return [axis](const MassProperties& solid) { return solid.inertia_per_mass_mm2(axis, axis); };
}

TriMesh ellipsoid(const Vec3& half_axes, int segments) {
    TriMesh mesh = sphere_solid(1.0, segments).mesh;
    for (Vec3& v : mesh.vertices) {
        v = v.cwiseProduct(half_axes);
    }
    return mesh;
}

// Area of the ellipsoid a >= b >= c, a > c, by Legendre's incomplete elliptic integrals.
double ellipsoid_area(double a, double b, double c) {
    const double phi = std::acos(c / a);
    const double k = std::sqrt(a * a * (b * b - c * c) / (b * b * (a * a - c * c)));
    const double s = std::sin(phi);
    return 2.0 * pi * c * c +
           2.0 * pi * a * b / s *
               (std::ellint_2(k, phi) * s * s + std::ellint_1(k, phi) * (1.0 - s * s));
}

// Thomsen's approximation (2004, p = 1.6075; published on public pages): never off by more than
// 1.061 % (from memory).
double thomsen_area(double a, double b, double c) {
    const double p = 1.6075;
    const double ab = std::pow(a * b, p);
    const double ac = std::pow(a * c, p);
    const double bc = std::pow(b * c, p);
    return 4.0 * pi * std::pow((ab + ac + bc) / 3.0, 1.0 / p);
}

// Where two cylinders of radius r about x and y meet: a square of half side sqrt(r^2 - z^2) at each
// height, so an arc that is revolved with four sides.
TriMesh bicylinder(double r, int segments) {
    std::vector<Vec2> profile;
    const int steps = segments / 2;
    for (int i = 0; i <= steps; ++i) {
        const double t = pi * i / steps - 0.5 * pi;
        const bool pole = i == 0 || i == steps;
        profile.emplace_back(pole ? 0.0 : std::sqrt(2.0) * r * std::cos(t), r * std::sin(t));
    }
    return revolved_solid(profile, 4).mesh;
}

// Where three cylinders about x, y and z meet. Each of twelve patches lies on the cylinder along
// the smallest coordinate, so a cube whose sides are cut along both diagonals has its edges on the
// creases; it is blown up to the surface.
TriMesh tricylinder(double r, int halvings) {
    TriMesh mesh;
    for (int axis = 0; axis < 3; ++axis) {
        for (const double side : {-1.0, 1.0}) {
            Vec3 middle = Vec3::Zero();
            middle[axis] = side;
            Vec3 u = Vec3::Zero();
            u[(axis + 1) % 3] = side;
            Vec3 v = Vec3::Zero();
            v[(axis + 2) % 3] = 1.0;
            const std::array<Vec3, 4> corners{middle - u - v, middle + u - v, middle + u + v,
                                              middle - u + v};
            for (std::size_t i = 0; i < 4; ++i) {
                const auto first = static_cast<std::int32_t>(mesh.vertices.size());
                mesh.vertices.insert(mesh.vertices.end(),
                                     {middle, corners[i], corners[(i + 1) % 4]});
                mesh.triangles.push_back({first, first + 1, first + 2});
            }
        }
    }
    mesh = subdivided(std::move(mesh), halvings);
    for (Vec3& v : mesh.vertices) {
        Vec3 sizes = v.cwiseAbs();
        std::sort(sizes.data(), sizes.data() + 3);
        v *= r / std::hypot(sizes.y(), sizes.z());
    }
    return mesh;
}

// The ball's upper half on its flat side.
TriMesh hemisphere(double r, int segments) {
    std::vector<Vec2> profile{{0.0, 0.0}};
    const int steps = segments / 4;
    for (int i = 0; i <= steps; ++i) {
        const double t = 0.5 * pi * i / steps;
        profile.emplace_back(i == steps ? 0.0 : r * std::cos(t), r * std::sin(t));
    }
    return revolved_solid(profile, segments).mesh;
}

}  // namespace

TEST_CASE("G-10, G-11: areas of ellipsoids") {
    struct Case {
        Vec3 half_axes;
        double exact;
        double thomsen;
    };
    const std::vector<Case> cases{{{3, 2, 1}, 48.8821463, 48.971933},
                                  {{10, 5, 2}, 373.1274765, 374.268},
                                  {{100, 60, 40}, 53910.07069, 53925.995},
                                  {{2, 1, 1}, 21.478435, 21.465645}};
    for (const Case& body : cases) {
        const double a = body.half_axes.x();
        const double b = body.half_axes.y();
        const double c = body.half_axes.z();
        CAPTURE(a);
        // The values are given to 8 to 10 digits.
        CHECK_NEAR(ellipsoid_area(a, b, c), body.exact, a == 2 ? 2e-8 : 1e-9);
        CHECK_NEAR(thomsen_area(a, b, c), body.thomsen, a == 10 ? 2e-6 : 1e-7);
        const auto solid = [&](int n) { return ellipsoid(body.half_axes, n); };
        check_approach("area", solid, 128, ellipsoid_area(a, b, c), area);
        check_approach("volume", solid, 128, 4.0 / 3.0 * pi * a * b * c, volume);
        check_approach("inertia", solid, 128, (b * b + c * c) / 5.0, inertia(0));
        CHECK_NEAR(mass_properties(solid(256)).area_mm2, thomsen_area(a, b, c), 0.0106);
    }
    // Prolate spheroid without elliptic integrals: 2 pi b^2 (1 + a/(b e) asin e).
    const double e = std::sqrt(0.75);
    CHECK_NEAR(ellipsoid_area(2, 1, 1), 2.0 * pi * (1.0 + 2.0 / e * std::asin(e)), 1e-14);
}

TEST_CASE("G-12: where two and three cylinders meet") {
    CHECK_NEAR(16.0 / 3.0 * 1000.0, 5333.333, 1e-7);
    const double root = 2.0 - std::sqrt(2.0);
    CHECK_NEAR(8.0 * root * 1000.0, 4686.2915, 1e-9);
    CHECK_NEAR(24.0 * root * 100.0, 1405.8874, 1e-7);
    const auto two = [](int n) { return bicylinder(10.0, n); };
    check_approach("two, volume", two, 128, 16000.0 / 3.0, volume);
    check_approach("two, area", two, 128, 1600.0, area);
    // An edge of the cube is halved into n.
    const auto three = [](int n) {
        return tricylinder(10.0, static_cast<int>(std::lround(std::log2(n))));
    };
    check_approach("three, volume", three, 32, 8.0 * root * 1000.0, volume);
    check_approach("three, area", three, 32, 24.0 * root * 100.0, area);
}

TEST_CASE("G-13: the five regular solids") {
    struct Case {
        int faces;
        double volume;
        double area;
        double inertia;
    };
    for (const Case& solid : std::vector<Case>{{4, 0.11785113, 1.73205081, 1.0 / 20.0},
                                               {6, 1.0, 6.0, 1.0 / 6.0},
                                               {8, 0.47140452, 3.46410162, 1.0 / 10.0},
                                               {12, 7.66311896, 20.6457288, 0.607355504},
                                               {20, 2.18169499, 8.66025404, 0.261803399}}) {
        CAPTURE(solid.faces);
        const MassProperties found = mass_properties(convex::platonic(solid.faces));
        CHECK_NEAR(found.volume_mm3, solid.volume, 1e-8);
        CHECK_NEAR(found.area_mm2, solid.area, 3e-9);
        CHECK(found.centroid_mm.norm() < 1e-15);
        // The same about any axis.
        CHECK((found.inertia_per_mass_mm2 - solid.inertia * Mat3::Identity()).norm() < 1e-9);
        CHECK_NEAR(found.inertia_per_mass_mm2(0, 0), solid.inertia, 2e-9);
    }
}

TEST_CASE("G-14: centroid and inertia of cone, cylinder and half ball") {
    const auto cone = [](int n) { return cone_solid(30.0, 90.0, n).mesh; };
    check_approach("cone, along", cone, 128, 270.0, inertia(2));
    check_approach("cone, across", cone, 128, 438.75, inertia(0));
    CHECK_NEAR(mass_properties(cone(64)).centroid_mm.z(), 22.5, 1e-14);
    const auto cylinder = [](int n) { return cylinder_solid(20.0, 300.0, n).mesh; };
    check_approach("cylinder, along", cylinder, 128, 200.0, inertia(2));
    check_approach("cylinder, across", cylinder, 128, 7600.0, inertia(0));
    const auto half = [](int n) { return hemisphere(30.0, n); };
    check_approach("half ball, centroid", half, 128, 3.0 * 30.0 / 8.0,
                   [](const MassProperties& body) { return body.centroid_mm.z(); });
    check_approach("half ball, along", half, 128, 0.4 * 900.0, inertia(2));
    // About a diameter of the flat side as a whole ball's, less the way to the centroid.
    check_approach("half ball, across", half, 128, (0.4 - 9.0 / 64.0) * 900.0, inertia(0));
}
