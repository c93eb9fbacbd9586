// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/cavity/height_volume.h"

#include <cmath>

#include "cavigram/cavity/columns.h"
#include "cavigram/core/error.h"
#include "cavigram/measure/mass_properties.h"
#include "cavigram/mesh/solids.h"

#include "support/near.h"

using namespace cavigram;

namespace {

Mat3 rotation(double angle) {
    return Eigen::AngleAxisd(angle, Vec3(1.0, -2.0, 0.7).normalized()).toRotationMatrix();
}

}  // namespace

TEST_CASE("a cube stood on its corner fills as t^3 / 6") {
    const HeightVolume cube(box_solid(1.0, 1.0, 1.0).mesh, Vec3(1.0, 1.0, 1.0));
    CHECK_NEAR(cube.highest_mm() - cube.lowest_mm(), std::sqrt(3.0), 1e-14);
    for (double t = 0.0; t <= 3.0; t += 0.1) {
        // x + y + z < t: inclusion and exclusion of the corners.
        const auto cube_of = [](double x) { return x > 0.0 ? x * x * x : 0.0; };
        const double expected =
            (cube_of(t) - 3.0 * cube_of(t - 1.0) + 3.0 * cube_of(t - 2.0)) / 6.0;
        const auto square_of = [](double x) { return x > 0.0 ? x * x : 0.0; };
        const double section =
            std::sqrt(3.0) * (square_of(t) - 3.0 * square_of(t - 1.0) + 3.0 * square_of(t - 2.0)) /
            2.0;
        const double level = t / std::sqrt(3.0);
        CHECK(std::abs(cube.volume_below_mm3(level) - expected) < 1e-14);
        if (t < 2.95) {
            CHECK(std::abs(cube.section_area_mm2(level) - section) < 1e-13);
        }
        if (expected > 0.001 && expected < 0.999) {
            CHECK(std::abs(cube.level_for_volume_mm(expected) - level) < 1e-12);
        }
    }
}

TEST_CASE(
    "a cone fills as its missing tip says, whichever way it is turned and wherever it stands") {
    const Solid cone = cone_solid(30.0, 90.0, 48, 7);
    for (const double angle : {0.0, 0.8, 2.5}) {
        const Vec3 shift(1e5, -3e4, 2e4);
        const TriMesh mesh = transformed(rotated(cone.mesh, rotation(angle)), 1.0, shift);
        const HeightVolume filled(mesh, 3.0 * (rotation(angle) * Vec3::UnitZ()));
        CHECK_NEAR(filled.volume_mm3(), cone.volume_mm3, 1e-9);
        for (double h = 5.0; h < 90.0; h += 7.0) {
            const double rest = std::pow(1.0 - h / 90.0, 3.0);
            const double level = filled.lowest_mm() + h;
            CHECK_NEAR(filled.volume_below_mm3(level), cone.volume_mm3 * (1.0 - rest), 1e-8);
            const double base = 3.0 * cone.volume_mm3 / 90.0;
            CHECK_NEAR(filled.section_area_mm2(level), base * std::pow(1.0 - h / 90.0, 2.0), 1e-8);
            CHECK_NEAR(
                filled.level_for_volume_mm(cone.volume_mm3 * (1.0 - rest)) - filled.lowest_mm(), h,
                1e-8);
        }
    }
}

TEST_CASE("the sections add up to the volume") {
    TriMesh mesh =
        joined(torus_solid(40.0, 12.0, 40).mesh,
               transformed(box_solid(20.0, 30.0, 10.0).mesh, 1.0, Vec3(-10.0, -15.0, 30.0)));
    mesh =
        joined(mesh, flipped(transformed(sphere_solid(4.0, 16).mesh, 1.0, Vec3(0.0, 0.0, 35.0))));
    const HeightVolume filled(mesh, Vec3(0.2, 0.5, 1.0));
    CHECK_NEAR(filled.volume_mm3(), mass_properties(mesh).volume_mm3, 1e-12);
    const int steps = 4000;
    const double step = (filled.highest_mm() - filled.lowest_mm()) / steps;
    double sum = 0.0;
    double before = 0.0;
    for (int i = 0; i < steps; ++i) {
        const double low = filled.lowest_mm() + i * step;
        sum += step * filled.section_area_mm2(low + 0.5 * step);
        const double below = filled.volume_below_mm3(low + step);
        CHECK(below >= before - 1e-9);
        before = below;
        if (i % 100 == 0) {
            CHECK(std::abs(below - sum) < 1e-3 * filled.volume_mm3());
        }
    }
    CHECK_NEAR(sum, filled.volume_mm3(), 1e-5);
}

TEST_CASE("columns and levels agree") {
    const TriMesh mesh = rotated(torus_solid(40.0, 12.0, 64).mesh, rotation(0.6));
    const Vec3 up(0.1, -0.4, 1.0);
    const HeightVolume filled(mesh, up);
    const ColumnCut cut = cut_columns(mesh, up, {.across = 300});
    for (const double share : {0.1, 0.35, 0.6, 0.95}) {
        const double level =
            filled.lowest_mm() + share * (filled.highest_mm() - filled.lowest_mm());
        double below = 0.0;
        for (const ColumnPiece& piece : cut.pieces) {
            below += std::max(0.0, std::min(level, piece.to_mm) - piece.from_mm);
        }
        CHECK_NEAR(below * cut.spacing_mm * cut.spacing_mm, filled.volume_below_mm3(level), 2e-3);
    }
}

TEST_CASE("flat floors and ceilings, the ends, and what lies beyond") {
    const HeightVolume box(box_solid(10.0, 20.0, 30.0).mesh, Vec3::UnitZ());
    CHECK(box.volume_below_mm3(-1.0) == 0.0);
    CHECK(box.volume_below_mm3(0.0) == 0.0);
    CHECK_NEAR(box.volume_below_mm3(12.0), 2400.0, 1e-14);
    CHECK(box.volume_below_mm3(30.0) == box.volume_mm3());
    CHECK(box.volume_below_mm3(99.0) == box.volume_mm3());
    CHECK_NEAR(box.section_area_mm2(12.0), 200.0, 1e-14);
    CHECK(box.section_area_mm2(30.0) == 0.0);
    CHECK(box.section_area_mm2(-0.1) == 0.0);
    CHECK_NEAR(box.level_for_volume_mm(2400.0), 12.0, 1e-13);
    CHECK(box.level_for_volume_mm(-5.0) == 0.0);
    CHECK(box.level_for_volume_mm(1e9) == 30.0);
    CHECK_THROWS_AS(HeightVolume(box_solid(1, 1, 1).mesh, Vec3::Zero()), InvalidInput);
    const HeightVolume none(TriMesh{}, Vec3::UnitZ());
    CHECK(none.volume_below_mm3(1.0) == 0.0);
    CHECK(none.level_for_volume_mm(1.0) == 0.0);
}
