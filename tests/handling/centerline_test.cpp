// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/handling/centerline.h"

#include <cmath>
#include <numbers>
#include <numeric>

#include "cavigram/mesh/solids.h"

#include "support/near.h"
#include "support/swept.h"

using namespace cavigram;
using std::numbers::pi;

namespace {

Centerline line_of(const TriMesh& mesh, const CenterlineOptions& options = {}) {
    return centerline(mesh, mass_properties(mesh), options);
}

Mat3 some_rotation() {
    return Eigen::AngleAxisd(0.9, Vec3(1, -2, 0.7).normalized()).toRotationMatrix();
}

// A fork: a stem of two unit cubes' width with a side branch, as cubes of 10 mm.
TriMesh branched() {
    const int nx = 16;
    const int ny = 9;
    std::vector<bool> filled(static_cast<std::size_t>(nx * ny * 2), false);
    for (int z = 0; z < 2; ++z) {
        for (int x = 0; x < nx; ++x) {
            for (int y = 0; y < ny; ++y) {
                const bool stem = y < 2;
                const bool bent = x >= nx - 2;               // the line goes on upward here
                const bool side = x >= 5 && x < 7 && y < 5;  // and this hangs on it
                filled[static_cast<std::size_t>(x + nx * (y + ny * z))] = stem || bent || side;
            }
        }
    }
    return transformed(polycube_solid(filled, nx, ny, 2).mesh, 10.0, Vec3::Zero());
}

}  // namespace

TEST_CASE("straight parts: along the long axis, from end to end") {
    for (const TriMesh& mesh : {box_solid(300, 40, 30).mesh, cylinder_solid(20, 300, 64).mesh,
                                cone_solid(20, 300, 64).mesh}) {
        const Centerline line = line_of(rotated(mesh, some_rotation()));
        CHECK(line.straight);
        CHECK_NEAR(line.length_mm(), 300.0, 1e-9);
        CHECK(line.volume_mm3.empty());
        CHECK(line.nodes_mm.size() == CenterlineOptions{}.elements + 1);
    }
}

TEST_CASE("an arc: the line keeps to the middle and is as long as the arc") {
    constexpr double kRadius = 120.0;
    constexpr double kAngle = 2.5;
    constexpr double kBar = 15.0;
    const TriMesh mesh = swept::arc(kRadius, kAngle, kBar, 80, 32);
    const MassProperties mass = mass_properties(mesh);
    const Centerline line = centerline(mesh, mass);
    REQUIRE_FALSE(line.straight);
    // Cubes are about 1.7 mm wide. At the ends the line goes on straight for 1.2 half widths and
    // half a band, 20.5 mm, along the chord of three bands of 5 mm: it leaves the arc by 20.5^2/240
    // + 20.5 7.5/120 = 3.0 mm, and half a cube.
    CHECK_NEAR(line.length_mm(), kRadius * kAngle, 0.02);
    for (std::size_t i = 0; i < line.nodes_mm.size(); ++i) {
        const Vec3& p = line.nodes_mm[i];
        const bool at_end = i < 5 || i + 5 >= line.nodes_mm.size();
        CHECK(std::abs(p.y()) < (at_end ? 1.35 : 0.5));
        CHECK(std::abs(std::hypot(p.x() - kRadius, p.z()) - kRadius) < (at_end ? 3.9 : 0.8));
    }
    const double volume = std::accumulate(line.volume_mm3.begin(), line.volume_mm3.end(), 0.0);
    CHECK_NEAR(volume, mass.volume_mm3, 1e-12);
    Vec3 centroid = Vec3::Zero();
    for (std::size_t i = 0; i < line.volume_mm3.size(); ++i) {
        centroid += line.volume_mm3[i] / volume * line.centroid_mm[i];
    }
    CHECK((centroid - mass.centroid_mm).norm() < 0.2);
}

TEST_CASE("a side branch hangs on the place from which it grows") {
    const TriMesh mesh = branched();
    const Centerline line = line_of(mesh);
    REQUIRE_FALSE(line.straight);
    const double volume = std::accumulate(line.volume_mm3.begin(), line.volume_mm3.end(), 0.0);
    CHECK_NEAR(volume, mass_properties(mesh).volume_mm3, 1e-12);
    // The branch is 20 x 30 x 20 mm; where it hangs a piece holds much of it beyond its own.
    const std::size_t heaviest = static_cast<std::size_t>(
        std::max_element(line.volume_mm3.begin(), line.volume_mm3.end()) - line.volume_mm3.begin());
    const Vec3 at = 0.5 * (line.nodes_mm[heaviest] + line.nodes_mm[heaviest + 1]);
    CHECK(at.x() > 40.0);
    CHECK(at.x() < 80.0);
    CHECK(line.centroid_mm[heaviest].y() > 20.0);
    // The line itself passes the branch by.
    for (const Vec3& p : line.nodes_mm) {
        CHECK((p.y() < 25.0 || p.x() > 120.0));
    }
}

TEST_CASE("rings, shells, lumps and parts in pieces have a straight axis") {
    CHECK(line_of(torus_solid(60, 12, 64).mesh).straight);
    CHECK(line_of(sphere_solid(40, 64).mesh).straight);
    // A bowl: half a shell of 4 mm.
    std::vector<Vec2> bowl;
    for (int i = 0; i <= 24; ++i) {
        bowl.emplace_back(60 * std::sin(i * pi / 48), -60 * std::cos(i * pi / 48));
    }
    for (int i = 24; i >= 0; --i) {
        bowl.emplace_back(56 * std::sin(i * pi / 48), -56 * std::cos(i * pi / 48));
    }
    CHECK(line_of(revolved_solid(bowl, 64).mesh).straight);
    const TriMesh apart = joined(box_solid(40, 40, 40).mesh,
                                 transformed(box_solid(40, 40, 40).mesh, 1.0, Vec3(80, 50, 0)));
    CHECK(line_of(apart).straight);
}

TEST_CASE("the same line for any number of threads") {
    const TriMesh mesh = swept::elbow(200, 150, 40);
    RunContext one;
    one.threads = 1;
    RunContext many;
    many.threads = 4;
    const Centerline a = centerline(mesh, mass_properties(mesh), {}, one);
    const Centerline b = centerline(mesh, mass_properties(mesh), {}, many);
    REQUIRE_FALSE(a.straight);
    CHECK(a.nodes_mm == b.nodes_mm);
    CHECK(a.volume_mm3 == b.volume_mm3);
}
