// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/pour/footing.h"

#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

TEST_CASE("a box on its sides, and turned about the upright") {
    const Solid box = box_solid(40, 30, 20);
    const Vec3 center(20, 15, 10);
    const Footing flat = footing(box.mesh, Vec3::UnitZ(), center);
    CHECK_NEAR(flat.block_mm2, 1200.0, 1e-12);
    CHECK_NEAR(flat.block_length_mm, 40.0, 1e-12);
    CHECK_NEAR(flat.block_width_mm, 30.0, 1e-12);
    CHECK_NEAR(flat.foot_mm2, 1200.0, 1e-12);
    CHECK_NEAR(flat.margin_mm, 15.0, 1e-12);
    CHECK(flat.stands());
    CHECK_NEAR(footing(box.mesh, Vec3::UnitX(), center).block_mm2, 600.0, 1e-12);
    for (std::uint32_t seed = 1; seed < 5; ++seed) {
        const Mat3 turn = some_rotation(seed);
        const Footing turned =
            footing(rotated(box.mesh, turn), turn * Vec3::UnitZ(), turn * center);
        CHECK_NEAR(turned.block_mm2, 1200.0, 1e-9);
        CHECK_NEAR(turned.margin_mm, 15.0, 1e-9);
    }
    // A center of mass beside the foot falls over; on a tip everything does.
    CHECK_NEAR(footing(box.mesh, Vec3::UnitZ(), Vec3(43, 15, 10)).margin_mm, -3.0, 1e-12);
    const Solid cone = cone_solid(10, 30, 32);
    CHECK(footing(cone.mesh, Vec3::UnitZ(), Vec3(0, 0, 7.5)).stands());
    const Footing tip = footing(cone.mesh, -Vec3::UnitZ(), Vec3(0, 0, 7.5));
    CHECK_FALSE(tip.stands());
    CHECK(tip.foot_mm2 == 0.0);
}

// No rectangle with a side in any of 3,600 directions is smaller.
TEST_CASE("the smallest rectangle is no larger than any that is tried") {
    for (std::uint32_t seed = 0; seed < 5; ++seed) {
        const TriMesh mesh = bumpy_ball(30, 2, 4, 0.4, 0.02, seed);
        const Footing found = footing(mesh, Vec3(1, 2, 3), Vec3::Zero());
        const Frame frame = frame_along(Vec3(1, 2, 3));
        double best = 1e300;
        for (int i = 0; i < 3600; ++i) {
            const double a = i * 2.0 * std::atan(1.0) / 3600;
            Vec2 low(1e300, 1e300);
            Vec2 high = -low;
            for (const Vec3& v : mesh.vertices) {
                const Vec3 p = frame.local(v);
                const Vec2 q(std::cos(a) * p.x() + std::sin(a) * p.y(),
                             std::cos(a) * p.y() - std::sin(a) * p.x());
                low = low.cwiseMin(q);
                high = high.cwiseMax(q);
            }
            best = std::min(best, (high - low).prod());
        }
        CHECK(found.block_mm2 <= best * (1.0 + 1e-12));
        CHECK(found.block_mm2 > best * 0.998);
    }
}
