// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>
#include <numbers>
#include <string>
#include <vector>

#include "cavigram/cavity/depth.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

#include "support/convex.h"
#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

// How much rubber or plaster stands within t of a part: the outer parallel body less the part.
// Steiner's formula for a convex body (docs/checks.md G-1 to G-5): V(t) = V + A t + M t^2 +
// 4/3 pi t^3, M the integral of the mean curvature. It is measured here as the skin of a block in
// which the part is hollow: what lies within t of the block's surface is that shell and the block's
// own inner one, as long as the two don't meet.

namespace {

struct Steiner {
    double volume_mm3;
    double area_mm2;
    double mean_curvature_mm;
    double chi = 2.0;  // 2 for a body like a ball, 0 for a ring

    [[nodiscard]] double at(double t) const {
        return volume_mm3 + area_mm2 * t + mean_curvature_mm * t * t +
               2.0 / 3.0 * pi * chi * t * t * t;
    }
    [[nodiscard]] double area_at(double t) const {
        return area_mm2 + 2.0 * mean_curvature_mm * t + 2.0 * pi * chi * t * t;
    }
};

Steiner box_steiner() {
    return {240000.0, 24800.0, pi * 200.0};
}

Steiner cylinder_steiner(double r, double h) {
    return {pi * r * r * h, 2.0 * pi * r * (r + h), pi * h + pi * pi * r};
}

Steiner sphere_steiner(double r) {
    return {4.0 / 3.0 * pi * r * r * r, 4.0 * pi * r * r, 4.0 * pi * r};
}

Steiner torus_steiner(double R, double r) {
    return {2.0 * pi * pi * R * r * r, 4.0 * pi * pi * R * r, 2.0 * pi * pi * R, 0.0};
}

// Of a convex polyhedron itself, so exact for a mesh that stands for something round.
Steiner mesh_steiner(const TriMesh& mesh) {
    const MassProperties whole = mass_properties(mesh);
    return {whole.volume_mm3, whole.area_mm2, convex::mean_curvature_mm(mesh)};
}

TriMesh scaled(const TriMesh& mesh, double factor) {
    return transformed(mesh, factor, Vec3::Zero());
}

struct Shell {
    double volume_mm3;
    double error_mm3;
};

// The shell of thickness t around a part, by the depth below the surface of a block around it.
std::vector<Shell> shells_around(const TriMesh& part, const std::vector<double>& thicknesses_mm) {
    const double margin = 2.1 * thicknesses_mm.back();
    const Box3 box = bounds(part);
    const Vec3 size = box.sizes() + Vec3::Constant(2.0 * margin);
    const TriMesh block = joined(transformed(box_solid(size.x(), size.y(), size.z()).mesh, 1.0,
                                             box.min() - Vec3::Constant(margin)),
                                 flipped(part));
    // Turned, so that no grid of the method's own lies along the walls.
    const TriMesh turned = rotated(
        block, Eigen::AngleAxisd(0.7, Vec3(2.0, -1.0, 3.0).normalized()).toRotationMatrix());
    // The block's own shell is several times the part's, so the whole is asked for more sharply.
    const DepthVolume curve = depth_volume(
        turned, TriangleBvh(turned),
        {.depths_mm = thicknesses_mm, .wanted_relative_error = 0.0007, .max_cells = 30'000'000});
    std::vector<Shell> found;
    for (const double t : thicknesses_mm) {
        const double own = size.prod() - (size - Vec3::Constant(2.0 * t)).prod();
        found.push_back({curve.skin_volume_mm3(t) - own, curve.error_mm3(t)});
    }
    return found;
}

}  // namespace

TEST_CASE("G-1, G-2, G-3, G-4, G-5: Steiner's formula has the values of docs/checks.md") {
    const Steiner box = box_steiner();
    CHECK_NEAR(box.mean_curvature_mm, 628.31853, 1e-8);
    CHECK_NEAR(box.at(10.0), 555020.643, 1e-9);
    CHECK_NEAR(box.area_at(10.0), 38623.0077, 1e-8);
    CHECK_NEAR(box.at(25.0) - box.at(10.0), 763128.285, 1e-9);
    const Steiner cylinder = cylinder_steiner(20.0, 300.0);
    CHECK_NEAR(cylinder.mean_curvature_mm, 1139.869884, 1e-9);
    CHECK_NEAR(cylinder.at(10.0), 897290.757, 1e-9);
    CHECK_NEAR(cylinder.area_at(10.0), 64266.4207, 1e-9);
    CHECK_NEAR(sphere_steiner(30.0).at(10.0), 268082.573, 1e-8);
    CHECK_NEAR(torus_steiner(50.0, 15.0).at(10.0), 616850.275, 1e-9);
    // The same from the meshes' edges: half the sum of length times angle.
    CHECK_NEAR(convex::mean_curvature_mm(box_solid(100.0, 60.0, 40.0).mesh), pi * 200.0, 1e-14);
    const TriMesh tetrahedron = scaled(convex::platonic(4), 50.0);
    CHECK_NEAR(convex::mean_curvature_mm(tetrahedron), 286.594985, 1e-8);
    CHECK_NEAR(mesh_steiner(tetrahedron).at(10.0), 90880.950, 1e-8);
    CHECK_NEAR(mesh_steiner(scaled(convex::platonic(6), 50.0)).at(10.0), 326312.680, 1e-8);
    CHECK_NEAR(mesh_steiner(cylinder_solid(20.0, 300.0, 2048).mesh).at(10.0), 897290.757, 2e-6);
    CHECK_NEAR(mesh_steiner(sphere_solid(30.0, 1024).mesh).at(10.0), 268082.573, 2e-5);
}

TEST_CASE(
    "G-1, G-2, G-3: the shell around convex parts, to the error that the curve itself gives") {
    struct Case {
        std::string name;
        TriMesh mesh;
        double round_mm3;  // the shell around the round body that the mesh stands for
        double chords;     // what its flat sides may take of that, relative
    };
    // Inscribed n-gons lose 2 pi^2 / (3 n^2) of their area (docs/checks.md G-16); on a sphere, cut
    // the same way along the other direction, up to twice that.
    const auto chords = [](int n) { return 2.0 * pi * pi / 3.0 / n / n; };
    const std::vector<Case> cases = {
        {"box", box_solid(100.0, 60.0, 40.0).mesh, 315020.643, 1e-9},
        {"cylinder", cylinder_solid(20.0, 300.0, 128).mesh, 520299.638, chords(128)},
        {"sphere", sphere_solid(30.0, 128).mesh, 268082.573 - 113097.336, 2.0 * chords(128)},
        {"cube", box_solid(50.0, 50.0, 50.0).mesh, 326312.680 - 125000.0, 1e-8},
        {"tetrahedron", scaled(convex::platonic(4), 50.0), 90880.950 - 14731.391, 1e-7}};
    for (const Case& part : cases) {
        CAPTURE(part.name);
        const Steiner exact = mesh_steiner(part.mesh);
        for (const double t : {10.0, 5.0}) {
            CAPTURE(t);
            const Shell shell = shells_around(part.mesh, {t}).front();
            const double expected = exact.at(t) - exact.volume_mm3;
            INFO("shell ", shell.volume_mm3, ", expected ", expected, ", error ", shell.error_mm3);
            CHECK(std::abs(shell.volume_mm3 - expected) <= shell.error_mm3);
            CHECK(shell.error_mm3 <= 0.003 * expected);
        }
        CHECK_NEAR(exact.at(10.0) - exact.volume_mm3, part.round_mm3, part.chords);
    }
}

TEST_CASE("G-4: the shell around a ring") {
    // A ring of flat sides is not convex, so Steiner's formula holds for the round one only. No
    // point of either surface is farther from the other than the chords' rise, e = (R + r)(1 -
    // cos(pi/n)) + r (1 - cos(2 pi/n)); the shells then differ by no more than the area at t times
    // e, outside and inside.
    const int n = 256;
    const Steiner round = torus_steiner(50.0, 15.0);
    const double e = 65.0 * (1.0 - std::cos(pi / n)) + 15.0 * (1.0 - std::cos(2.0 * pi / n));
    const Shell shell = shells_around(torus_solid(50.0, 15.0, n).mesh, {10.0}).front();
    const double expected = round.at(10.0) - round.volume_mm3;
    const double chords = (round.area_at(10.0) + round.area_mm2) * e;
    INFO("shell ", shell.volume_mm3, ", expected ", expected, ", error ", shell.error_mm3);
    CHECK(chords < 0.002 * expected);
    CHECK(std::abs(shell.volume_mm3 - expected) <= shell.error_mm3 + chords);
}

TEST_CASE("G-5: a jacket of 15 mm over 10 mm of rubber, from one curve") {
    const std::vector<Shell> shells =
        shells_around(box_solid(100.0, 60.0, 40.0).mesh, {10.0, 25.0});
    const double jacket = shells[1].volume_mm3 - shells[0].volume_mm3;
    INFO("jacket ", jacket, ", error ", shells[0].error_mm3 + shells[1].error_mm3);
    CHECK(std::abs(jacket - 763128.285) <= shells[0].error_mm3 + shells[1].error_mm3);
    CHECK(shells[0].error_mm3 + shells[1].error_mm3 < 0.003 * jacket);
}
