// SPDX-License-Identifier: GPL-3.0-or-later
#include "cavigram/molding/side_view.h"

#include <cmath>
#include <random>

#include "cavigram/geom/triangle.h"

#include "molding/shapes.h"
#include "support/near.h"
#include "venting/shapes.h"

using namespace cavigram;

namespace {

std::vector<SideView> views(const TriMesh& mesh, const Vec3& pull, double most_mm = 1e9) {
    return side_views(mesh, TriangleBvh(mesh), pull, most_mm);
}

}  // namespace

TEST_CASE("the faces of a box: walls along the pull are seen from both sides") {
    const TriMesh box = box_solid(100, 60, 40).mesh;
    const auto seen = views(box, Vec3::UnitZ());
    int walls = 0;
    for (std::size_t t = 0; t < seen.size(); ++t) {
        const double up = double_area_vector(box.corner(t, 0), box.corner(t, 1), box.corner(t, 2))
                              .normalized()
                              .z();
        CHECK_NEAR(seen[t].above_mm, up < -0.5 ? 40.0 : 0.0, 1e-9);
        CHECK_NEAR(seen[t].below_mm, up > 0.5 ? 40.0 : 0.0, 1e-9);
        walls += std::abs(up) < 0.5 ? 1 : 0;
    }
    CHECK(walls == 8);
    CHECK(views(box, Vec3::UnitZ(), 15.0)[0].above_mm <= 15.0);
}

// The wings of the T-slot are 28 less 12 wide; above them lie 8 mm of block, below their floor 10.
TEST_CASE("what lies in a slot is hidden from above by what hangs over it") {
    const TriMesh slot = subdivided(t_slot(), 3);
    const auto seen = views(slot, Vec3::UnitZ());
    double hidden_mm2 = 0.0;
    for (std::size_t t = 0; t < seen.size(); ++t) {
        const Vec3 area =
            0.5 * double_area_vector(slot.corner(t, 0), slot.corner(t, 1), slot.corner(t, 2));
        const double x = (slot.corner(t, 0) + slot.corner(t, 1) + slot.corner(t, 2)).x() / 3.0;
        const double z = (slot.corner(t, 0) + slot.corner(t, 1) + slot.corner(t, 2)).z() / 3.0;
        if (area.normalized().z() > 0.5 && std::abs(z - 10.0) < 1e-9) {
            CHECK_NEAR(seen[t].above_mm, std::abs(x) > 6.0 ? 8.0 : 0.0, 1e-9);
            CHECK_NEAR(seen[t].below_mm, 10.0, 1e-9);
            hidden_mm2 += seen[t].above_mm > 0.0 ? area.norm() : 0.0;
        }
    }
    CHECK(std::abs(hidden_mm2 - 16 * 40) < 28.0 * 40 / 8);  // a row of triangles
}

// Along the ray, steps of a hundredth that are inside by the winding number.
TEST_CASE("lengths on random blocks, against many small steps") {
    std::mt19937 random(23);
    const TriMesh mesh = rotated(
        blocks(4, 4, 4, [&](int, int, int) { return random() % 2 == 0; }).mesh, some_rotation(5));
    const TriangleBvh surface(mesh);
    const Vec3 pull = Vec3(0.3, 0.1, 1.0).normalized();
    const auto seen = side_views(mesh, surface, pull, 1e9);
    for (std::size_t t = 0; t < seen.size(); t += 3) {
        const Vec3 middle = (mesh.corner(t, 0) + mesh.corner(t, 1) + mesh.corner(t, 2)) / 3.0;
        double above = 0.0;
        double below = 0.0;
        for (int i = 0; i < 800; ++i) {
            const Vec3 step = 0.01 * (i + 0.5) * pull;
            above += surface.inside(middle + step) ? 0.01 : 0.0;
            below += surface.inside(middle - step) ? 0.01 : 0.0;
        }
        CHECK(std::abs(seen[t].above_mm - above) < 0.06);
        CHECK(std::abs(seen[t].below_mm - below) < 0.06);
    }
}

// Where the way ends early nothing else may change.
TEST_CASE("no more than the most is told, and less is told alike") {
    std::mt19937 random(29);
    const TriMesh mesh = rotated(
        blocks(4, 4, 4, [&](int, int, int) { return random() % 2 == 0; }).mesh, some_rotation(9));
    const TriangleBvh surface(mesh);
    const Vec3 pull = Vec3(-0.2, 0.5, 1.0).normalized();
    const auto all = side_views(mesh, surface, pull, 1e9);
    const auto capped = side_views(mesh, surface, pull, 0.7);
    for (std::size_t t = 0; t < all.size(); ++t) {
        CHECK(capped[t].above_mm == doctest::Approx(std::min(all[t].above_mm, 0.7)));
        CHECK(capped[t].below_mm == doctest::Approx(std::min(all[t].below_mm, 0.7)));
    }
}
