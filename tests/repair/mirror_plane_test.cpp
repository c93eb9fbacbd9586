// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/repair/mirror_plane.h"

#include <algorithm>
#include <cmath>

#include "cavigram/mesh/solids.h"

#include "support/damage.h"
#include "support/near.h"

using namespace cavigram;

namespace {

std::vector<MirrorPlane> planes_of(const TriMesh& mesh, const RunContext& context = {}) {
    return mirror_planes(mesh, adjacency(mesh), TriangleBvh(mesh),
                         0.01 * bounds(mesh).sizes().maxCoeff(), context);
}

bool holds(const std::vector<MirrorPlane>& planes, const Vec3& normal, const Vec3& through) {
    return std::any_of(planes.begin(), planes.end(), [&](const MirrorPlane& plane) {
        return std::abs(plane.normal.dot(normal)) > 0.99999 &&
               std::abs(plane.normal.dot(through) - plane.offset_mm) < 0.02;
    });
}

Mat3 some_turn() {
    Mat3 x;
    x << 1, 0, 0, 0, std::cos(0.7), -std::sin(0.7), 0, std::sin(0.7), std::cos(0.7);
    Mat3 z;
    z << std::cos(2.1), -std::sin(2.1), 0, std::sin(2.1), std::cos(2.1), 0, 0, 0, 1;
    return z * x;
}

}  // namespace

TEST_CASE("a box of three lengths has its three planes and no others, however it lies") {
    const TriMesh box = subdivided(box_solid(80, 60, 40).mesh, 4);
    const Vec3 shift(300, -40, 12);
    const Mat3 turn = some_turn();
    const std::vector<MirrorPlane> planes = planes_of(transformed(rotated(box, turn), 1.0, shift));
    CHECK(planes.size() == 3);
    const Vec3 middle = turn * Vec3(40, 30, 20) + shift;
    for (int i = 0; i < 3; ++i) {
        CHECK(holds(planes, turn.col(i), middle));
    }
    for (const MirrorPlane& plane : planes) {
        // Places at the very edges may be nearest to the face around the corner.
        CHECK(plane.agreeing_share > 0.998);
        CHECK(plane.residual_mm < 0.01);
        CHECK((plane.image(plane.image(middle)) - middle).norm() < 1e-9);
    }
}

TEST_CASE("a hole does not hide the plane that it lies beside") {
    const TriMesh torus = torus_solid(50, 15, 96).mesh;
    const TriMesh open =
        damage::holed(torus, [](const Vec3& c) { return (c - Vec3(65, 0, 0)).norm() < 25; });
    const std::vector<MirrorPlane> planes = planes_of(open);
    CHECK(holds(planes, Vec3::UnitZ(), Vec3::Zero()));
    CHECK_FALSE(planes.empty());
}

TEST_CASE("parts that are not their own mirror images have no plane") {
    // A helix of balls is not; nor is a box with a knob off all of its planes.
    TriMesh knobbed = subdivided(box_solid(80, 60, 40).mesh, 4);
    knobbed = joined(knobbed, transformed(sphere_solid(14, 32).mesh, 1.0, Vec3(78, 57, 35)));
    CHECK(planes_of(knobbed).empty());
    TriMesh helix;
    for (int i = 0; i < 9; ++i) {
        helix =
            joined(helix, transformed(sphere_solid(5 + 0.5 * i, 24).mesh, 1.0,
                                      Vec3(30 * std::cos(0.9 * i), 30 * std::sin(0.9 * i), 9 * i)));
    }
    CHECK(planes_of(helix).empty());
}

TEST_CASE("the same planes for any number of threads") {
    const TriMesh box = subdivided(box_solid(80, 60, 40).mesh, 3);
    RunContext one;
    one.threads = 1;
    RunContext four;
    four.threads = 4;
    const auto a = planes_of(box, one);
    const auto b = planes_of(box, four);
    REQUIRE(a.size() == b.size());
    for (std::size_t i = 0; i < a.size(); ++i) {
        CHECK(a[i].normal == b[i].normal);
        CHECK(a[i].offset_mm == b[i].offset_mm);
    }
}
