// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/findings.h"

#include <array>
#include <cmath>
#include <numbers>
#include <random>
#include <string>

#include "cavigram/core/error.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"
#include "cavigram/repair/mend.h"

#include "support/damage.h"
#include "support/near.h"
#include "support/ray_volume.h"

using namespace cavigram;
using std::numbers::pi;

// What mending tells in words: for each finding a case that brings it out and one that must not.

namespace {

const Finding* found(const Mended& mended, FindingCode code) {
    return finding_of(mended.findings, code);
}

const RepairStep* step(const Mended& mended, const std::string& action) {
    for (const RepairStep& one : mended.part.steps()) {
        if (to_text(one.action) == action) {
            return &one;
        }
    }
    return nullptr;
}

Vec3 to_vec(const std::array<double, 3>& p) {
    return {p[0], p[1], p[2]};
}

double volume(const TriMesh& mesh) {
    return mass_properties(mesh).volume_mm3;
}

void check_range(const Mended& mended, double truth_mm3) {
    const double counted = volume(mended.part.mesh());
    CHECK(truth_mm3 >= counted - mended.part.volume_below_mm3());
    CHECK(truth_mm3 <= counted + mended.part.volume_above_mm3());
}

// A ball whose vertices are all shaken on their own.
TriMesh shaken_ball(double noise) {
    TriMesh mesh = sphere_solid(20, 24).mesh;
    std::mt19937 random(3);  // fixed seed
    std::normal_distribution<double> normal(0.0, 1.0);
    for (Vec3& v : mesh.vertices) {
        v += noise * Vec3(normal(random), normal(random), normal(random));
    }
    return mesh;
}

}  // namespace

TEST_CASE("crosses_itself: what gentle mending leaves is told; full mending leaves nothing") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const Vec3 middle_of_a_face(40, 20, 20);
    // Shaken by 2 mm where triangles are 2 to 5 mm wide, the ball crosses itself all over.
    const TriMesh both = joined(box, transformed(shaken_ball(2.0), 1.0, middle_of_a_face));
    const Mended kept = mend(both, {.level = MendLevel::gentle});
    const Finding* finding = found(kept, "crosses_itself");
    REQUIRE(finding != nullptr);
    CHECK(finding->severity == Severity::warning);
    CHECK(finding->text.find("pairs of triangles still cross") != std::string::npos);
    CHECK_FALSE(finding->at_mm.empty());
    const double truth = oracle::ray_volume(both, 1500);
    check_range(kept, truth);

    const Mended united = mend(both);
    CHECK(found(united, "crosses_itself") == nullptr);
    CHECK(step(united, "unite") != nullptr);
    CHECK(united.part.crossings().empty());
    // Folds of the ball are cut out and closed anew before, so that it is no longer quite the same.
    CHECK(std::abs(volume(united.part.mesh()) / truth - 1.0) < 0.01);
}

TEST_CASE("hollow_broken: a hollow that breaks through its wall is told as that") {
    const TriMesh box = box_solid(40, 40, 40).mesh;
    const Solid ball = sphere_solid(10, 48);
    const auto with_hollow_at = [&](double x) {
        return mend(joined(box, flipped(transformed(ball.mesh, 1.0, Vec3(x, 20, 20)))));
    };
    const Mended broken = with_hollow_at(9.5);
    const Finding* finding = found(broken, "hollow_broken");
    REQUIRE(finding != nullptr);
    CHECK(finding->severity == Severity::warning);
    CHECK(finding->text.find("breaks through its wall") != std::string::npos);
    CHECK(rendered(finding->text).find("4.16 cm3") !=
          std::string::npos);  // the inscribed ball of 48 sides
    // Empty as the file says: the box less the ball but for its cap of 0.5 mm, pi h^2 (R - h/3).
    check_range(broken, 64000.0 - (ball.volume_mm3 - pi * 0.25 * (10.0 - 0.5 / 3.0)));
    const RepairStep* filled = step(broken, "fill_broken_hollow");
    REQUIRE(filled != nullptr);
    CHECK_NEAR(filled->volume_below_mm3, ball.volume_mm3, 1e-12);
    CHECK(broken.part.crossings().empty());

    const Mended whole = with_hollow_at(10.5);
    CHECK(found(whole, "hollow_broken") == nullptr);
    CHECK_NEAR(volume(whole.part.mesh()), 64000.0 - ball.volume_mm3, 1e-12);
}

TEST_CASE("base_closed: a flat open side is closed and told, other holes are not called a base") {
    const TriMesh cube = subdivided(box_solid(10, 10, 10).mesh, 3);
    const Mended closed = mend(damage::holed(cube, [](const Vec3& c) { return c.z() > 9.99; }));
    const Finding* finding = found(closed, "base_closed");
    REQUIRE(finding != nullptr);
    CHECK(finding->severity == Severity::note);
    CHECK(finding->text.find("closed flat") != std::string::npos);
    REQUIRE(finding->at_mm.size() == 1);
    CHECK(finding->at_mm[0][2] == doctest::Approx(10.0));
    CHECK_NEAR(volume(closed.part.mesh()), 1000.0, 1e-12);

    CHECK(found(mend(cube), "base_closed") == nullptr);
    const TriMesh pierced = damage::holed(
        sphere_solid(30, 64).mesh, [](const Vec3& c) { return (c - Vec3(0, 0, 30)).norm() < 6; });
    const Mended mended = mend(pierced);
    CHECK(step(mended, "close_holes") != nullptr);
    CHECK(found(mended, "base_closed") == nullptr);
}

TEST_CASE("large_hole: told with its place, refused when very large unless asked for") {
    const Solid ball = sphere_solid(30, 96);
    const auto without_cap = [&](double degrees) {
        const double level = 30.0 * std::cos(degrees * pi / 180.0);
        return damage::holed(ball.mesh, [&](const Vec3& c) { return c.z() > level; });
    };
    // A cap of half angle a is (1 - cos a)/2 of the area: 1.4, 5 and 20 % here.
    CHECK(found(mend(without_cap(13.5)), "large_hole") == nullptr);
    const Mended told = mend(without_cap(26.0));
    const Finding* finding = found(told, "large_hole");
    REQUIRE(finding != nullptr);
    CHECK(finding->severity == Severity::warning);
    CHECK(finding->text.find("scan the part there again") != std::string::npos);
    REQUIRE(finding->at_mm.size() == 1);
    CHECK(finding->at_mm[0][2] ==
          doctest::Approx(30.0 * std::cos(26.0 * pi / 180.0)).epsilon(0.05));
    check_range(told, ball.volume_mm3);
    CHECK_NEAR(volume(told.part.mesh()), ball.volume_mm3, 1e-3);

    CHECK_THROWS_WITH_AS(static_cast<void>(mend(without_cap(53.0))),
                         doctest::Contains("accept it with largest_hole of"), UnusableInput);
    const Mended asked = mend(without_cap(53.0), {.largest_hole_mm = 60.0});
    REQUIRE(found(asked, "large_hole") != nullptr);
    check_range(asked, ball.volume_mm3);
    CHECK_NEAR(volume(asked.part.mesh()), ball.volume_mm3, 0.01);
}

TEST_CASE("hole_mirrored: told with both places; not where a part has no other side") {
    const Solid torus = torus_solid(50, 18, 96);
    const auto beside = [](const Vec3& c) { return (c - Vec3(68, 0, 0)).norm() < 16; };
    const Mended mended = mend(damage::holed(torus.mesh, beside));
    const Finding* finding = found(mended, "hole_mirrored");
    REQUIRE(finding != nullptr);
    CHECK(finding->severity == Severity::note);
    CHECK(rendered(finding->text).find("its own mirror image") != std::string::npos);
    REQUIRE(finding->at_mm.size() == 2);
    // From the hole to where the piece was taken.
    CHECK((to_vec(finding->at_mm[0]) - Vec3(68, 0, 0)).norm() < 5.0);
    CHECK((to_vec(finding->at_mm[1]) - Vec3(68, 0, 0)).norm() > 32.0);
    check_range(mended, torus.volume_mm3);
    CHECK_NEAR(volume(mended.part.mesh()), torus.volume_mm3, 5e-4);

    // A knob off all mirror planes of a box.
    const TriMesh box = subdivided(box_solid(80, 60, 40).mesh, 4);
    const TriMesh knobbed =
        joined(box, transformed(sphere_solid(14, 32).mesh, 1.0, Vec3(78, 57, 35)));
    const Mended other = mend(damage::holed(mend(knobbed).part.mesh(), [](const Vec3& c) {
        return c.z() < 0.01 && (c - Vec3(40, 30, 0)).norm() < 14;
    }));
    CHECK(step(other, "close_holes") != nullptr);
    CHECK(found(other, "hole_mirrored") == nullptr);
}
