// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/measure/mass_properties.h"

#include <numbers>
#include <random>

#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

Mat3 some_rotation() {
    return Eigen::AngleAxisd(1.1, Vec3(1, -2, 0.5).normalized()).toRotationMatrix();
}

TriMesh shuffled(TriMesh mesh) {
    std::mt19937 random(3);  // fixed seed
    std::vector<std::int32_t> order(mesh.vertices.size());
    for (std::size_t i = 0; i < order.size(); ++i) {
        order[i] = static_cast<std::int32_t>(i);
    }
    std::shuffle(order.begin(), order.end(), random);
    std::vector<Vec3> moved(order.size());
    for (std::size_t i = 0; i < order.size(); ++i) {
        moved[static_cast<std::size_t>(order[i])] = mesh.vertices[i];
    }
    mesh.vertices = moved;
    for (Triangle& t : mesh.triangles) {
        t = {order[static_cast<std::size_t>(t[1])], order[static_cast<std::size_t>(t[2])],
             order[static_cast<std::size_t>(t[0])]};
    }
    std::shuffle(mesh.triangles.begin(), mesh.triangles.end(), random);
    return mesh;
}

}  // namespace

TEST_CASE("S1, S2, G-1: the box") {
    const MassProperties box = mass_properties(box_solid(100, 60, 40).mesh);
    CHECK_NEAR(box.volume_mm3, 240000.0, 1e-15);
    CHECK_NEAR(box.area_mm2, 24800.0, 1e-15);
    CHECK((box.centroid_mm - Vec3(50, 30, 20)).norm() < 1e-12);
    CHECK_NEAR(box.inertia_per_mass_mm2(0, 0), (60.0 * 60 + 40 * 40) / 12, 1e-13);
    CHECK(box.principal_axes.col(0) == Vec3::UnitX());
}

TEST_CASE("G-9, G-14: smooth solids, to the error that the chords make") {
    // An error of n^-2: at 1,024 sides the chords lose about 6e-6 around and the same along.
    const MassProperties torus = mass_properties(torus_solid(50, 15, 1024).mesh);
    CHECK_NEAR(torus.volume_mm3, 222066.099, 4e-5);
    CHECK_NEAR(torus.area_mm2, 29608.8132, 4e-5);
    CHECK_NEAR(torus.inertia_per_mass_mm2(2, 2), 2668.75, 4e-5);
    CHECK_NEAR(torus.inertia_per_mass_mm2(0, 0), 1390.625, 4e-5);

    const MassProperties cone = mass_properties(cone_solid(30, 90, 2048).mesh);
    CHECK_NEAR(cone.volume_mm3, 84823.002, 1e-5);
    CHECK_NEAR(cone.area_mm2, 11768.5628, 1e-5);
    CHECK_NEAR(cone.centroid_mm.z(), 22.5, 1e-12);
    CHECK_NEAR(cone.inertia_per_mass_mm2(2, 2), 270.0, 1e-5);
    CHECK_NEAR(cone.inertia_per_mass_mm2(0, 0), 438.75, 1e-5);

    const MassProperties cylinder = mass_properties(cylinder_solid(20, 300, 2048).mesh);
    CHECK_NEAR(cylinder.volume_mm3, 376991.118, 1e-5);  // S5
    CHECK_NEAR(cylinder.inertia_per_mass_mm2(0, 0), 7600.0, 1e-5);
}

TEST_CASE("G-16: the error of an inscribed sphere falls with the square of the number of sides") {
    const auto error = [](int n) {
        return 1.0 -
               mass_properties(sphere_solid(30, n).mesh).volume_mm3 / (4.0 / 3.0 * pi * 27000);
    };
    const double order = std::log2(error(128) / error(256));
    CHECK(order > 1.99);
    CHECK(order < 2.01);
}

TEST_CASE("G-17: turning, moving, shuffling change nothing; scaling by k scales by k^3, k^2, k^2") {
    const TriMesh mesh = revolved_solid({{0, 0}, {30, 5}, {12, 40}, {25, 60}, {0, 55}}, 37).mesh;
    const MassProperties plain = mass_properties(mesh);
    const Mat3 R = some_rotation();
    for (const TriMesh& other :
         {rotated(mesh, R), transformed(mesh, 1.0, Vec3(1e3, -2e3, 500)), shuffled(mesh)}) {
        const MassProperties moved = mass_properties(other);
        CHECK_NEAR(moved.volume_mm3, plain.volume_mm3, 1e-12);
        CHECK_NEAR(moved.area_mm2, plain.area_mm2, 1e-12);
        CHECK_NEAR(moved.inertia_per_mass_mm2.trace(), plain.inertia_per_mass_mm2.trace(), 1e-12);
    }
    const MassProperties turned = mass_properties(rotated(mesh, R));
    CHECK((turned.centroid_mm - R * plain.centroid_mm).norm() < 1e-12 * 60);
    CHECK((turned.inertia_per_mass_mm2 - R * plain.inertia_per_mass_mm2 * R.transpose()).norm() <
          1e-10);

    const MassProperties scaled = mass_properties(transformed(mesh, 3.0, Vec3::Zero()));
    CHECK_NEAR(scaled.volume_mm3, 27.0 * plain.volume_mm3, 1e-12);
    CHECK_NEAR(scaled.area_mm2, 9.0 * plain.area_mm2, 1e-12);
    CHECK_NEAR(scaled.inertia_per_mass_mm2(0, 0), 9.0 * plain.inertia_per_mass_mm2(0, 0), 1e-12);
    CHECK_NEAR(mass_properties(flipped(mesh)).volume_mm3, -plain.volume_mm3, 1e-15);
}

TEST_CASE("a sphere 100 m from the origin keeps its volume") {
    const Solid sphere = sphere_solid(50, 512);
    const double far =
        mass_properties(transformed(sphere.mesh, 1.0, Vec3(1e5, 1e5, 1e5))).volume_mm3;
    // What is left is the rounding of the coordinates themselves: 1e5 mm holds 1.5e-11 mm, on each
    // of 65,000 vertices at random.
    CHECK_NEAR(far, sphere.volume_mm3, 1e-12);
}

TEST_CASE("the same bytes for any number of threads") {
    const TriMesh mesh = rotated(torus_solid(50, 15, 400).mesh, some_rotation());
    RunContext one;
    one.threads = 1;
    const MassProperties a = mass_properties(mesh, one);
    for (const int threads : {2, 5}) {
        RunContext many;
        many.threads = threads;
        const MassProperties b = mass_properties(mesh, many);
        CHECK(a.volume_mm3 == b.volume_mm3);
        CHECK(a.area_mm2 == b.area_mm2);
        CHECK(a.second_moment_mm2 == b.second_moment_mm2);
        CHECK(a.principal_axes == b.principal_axes);
    }
}

TEST_CASE("nothing in, nothing out") {
    CHECK(mass_properties(TriMesh{}).volume_mm3 == 0.0);
}
